"""Who of the crew could close a gap, and by what: from a confirmation to the whole program."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from certificates.coverage import Candidate, Closing, Plan
from certificates.coverage.closers import closers, matched
from certificates.coverage.plan import plan
from certificates.queries.lacks import Lack, Met, lack_of
from certificates.queries.needs import Ask, Judge, Place
from certificates.queries.project_coverage import ProjectCoverage
from certificates.queries.qualified import Held
from certificates.queries.ranges import rules_of
from certificates.queries.under_way import enrolled_of, met_of


@dataclass(frozen=True, slots=True)
class Help:
    """What closes the gap of a day: single steps, the least effort first, and a whole plan."""

    on: date
    closings: list[Closing]
    plan: Plan


def help_for(found: ProjectCoverage, on: date) -> Help:
    """What could fill the places that are empty on a day; at most three queries.

    Everybody employed on the day is looked at. Only posts to which moves lead from an empty place
    are: an ability at another post fills nothing more.
    """
    names = {str(person): name for person, name in found.people.items()}
    posts, able = found.coverage.posts, found.facts.able
    matcher = matched(posts, able, on=on)
    short = matcher.reached()
    offered = list(_candidates(found, on, short, matcher.able)) if short else []
    return Help(
        on,
        closers(posts, able, offered, on=on, names=names),
        plan(posts, able, offered, on=on),
    )


@dataclass(frozen=True, slots=True)
class _Known:
    """What is known of everybody, by person, for each program code of a provider."""

    held: Mapping[tuple[int, str], Mapping[int, Sequence[Held]]]
    met: Mapping[int, Sequence[Met]]
    enrolled: Mapping[int, Sequence[tuple[int, str, int]]]
    judge: Judge
    today: date
    confirming: bool


def _candidates(
    found: ProjectCoverage,
    on: date,
    short: Mapping[str, object],
    able: Mapping[str, Mapping[str, int]],
) -> Iterator[Candidate]:
    """A candidate for each person employed on the day and each of the posts not able to fill."""
    facts = found.facts
    places = [place for place in facts.places if place.key in short]
    crew = [person for person in facts.crew.people if facts.crew.on(person, on)]
    known = _known(found)
    lacks: dict[Ask, dict[int, Lack | None]] = {}
    for ask in {ask for place in places for ask in place.asks}:
        lacks[ask] = {person: _lack(known, ask, person, on) for person in crew}
    for place in places:
        there = able[place.key]
        for person in crew:
            if str(person) not in there:
                yield _candidate(place, person, [lacks[ask][person] for ask in place.asks])


def _candidate(place: Place, person: int, lacks: Sequence[Lack | None]) -> Candidate:
    missing = [lack for lack in lacks if lack is not None]
    return Candidate(
        str(person),
        place.key,
        sum(lack.effort for lack in missing),
        " ".join(dict.fromkeys(lack.missing for lack in missing)),
    )


def _known(found: ProjectCoverage) -> _Known:
    facts = found.facts
    people = list(facts.crew.people)
    met = met_of(people)
    others = {one.standard for rows in met.values() for one in rows} - facts.judge.rules.keys()
    return _Known(
        {family: _by_person(rows) for family, rows in facts.families.items()},
        met,
        enrolled_of(people),
        Judge({**facts.judge.rules, **rules_of(others)}),
        facts.known,
        facts.confirming,
    )


def _by_person(rows: Sequence[Held]) -> dict[int, list[Held]]:
    found: dict[int, list[Held]] = defaultdict(list)
    for one in rows:
        found[one.holder_id].append(one)
    return found


def _lack(known: _Known, ask: Ask, person: int, on: date) -> Lack | None:
    return lack_of(
        ask,
        held=known.held.get((ask.provider, ask.code), {}).get(person, ()),
        met=known.met.get(person, ()),
        enrolled=known.enrolled.get(person, ()),
        judge=known.judge,
        on=on,
        today=known.today,
        confirming=known.confirming,
    )
