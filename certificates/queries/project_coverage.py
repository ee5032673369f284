"""Whether a contractor's crew can fill the posts of a project, from the records in the database."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import date

from certificates import coverage as pure
from certificates.coverage.stays import joined
from certificates.models import Post, Project
from certificates.queries.crew_days import Crew, crew_of_project, today_at
from certificates.queries.needs import Answers, Ask, Judge, Place, Stretch, answers_of, places_of
from certificates.queries.qualified import Held, held_by
from certificates.queries.ranges import rules_of
from certificates.queries.why_not import why_not

__all__ = ["Facts", "HeldBy", "ProjectCoverage", "coverage_of", "why_not"]

Families = Mapping[tuple[int, str], list[Held]]


class HeldBy(Mapping[tuple[str, int], Held]):
    """By which record a person can fill a place: {(key of the place, person): Held}.

    Of several records the one that counts longest; for a lead's place that of the lead's program,
    since the other stands under the post's own key. Posts that ask the same share their rows.
    """

    def __init__(self, rows: Mapping[str, Mapping[int, Held]]) -> None:
        self._rows = rows

    def __getitem__(self, key: tuple[str, int]) -> Held:
        return self._rows[key[0]][key[1]]

    def __iter__(self) -> Iterator[tuple[str, int]]:
        return ((key, person) for key, people in self._rows.items() for person in people)

    def __len__(self) -> int:
        return sum(map(len, self._rows.values()))


@dataclass(frozen=True, slots=True)
class Facts:
    """What a coverage was worked out from; ``known`` is the last day whose facts are in it."""

    places: list[Place]
    crew: Crew
    families: Families
    judge: Judge
    able: list[pure.Able]
    known: date
    confirming: bool


@dataclass(frozen=True, slots=True)
class ProjectCoverage:
    """The coverage of a project from a day on; ``coverage`` is None when it has no posts.

    ``people`` are the crew by name; in ``coverage`` a person's key is ``str(id)``, a post's is its
    code and its leads' is ``CODE/lead``.
    """

    project: Project
    posts: list[Post]
    coverage: pure.Coverage
    people: dict[int, str]
    held: HeldBy
    facts: Facts


def coverage_of(
    project: Project,
    *,
    at: date | None = None,
    known: date | None = None,
    confirming: bool = False,
) -> ProjectCoverage:
    """Whether the crew can fill all posts, from the day ``at`` (today) to the project's end.

    Facts up to the end of ``known`` are in it; without it those of a past ``at``, else all. After
    the project's end its last day is shown, as it was known then. A project without posts has a
    coverage without places. ``confirming`` takes it that everybody's work goes on being
    confirmed, so that only the validity ends a record. The number of queries is the same for any
    number of posts, people and records.
    """
    first, known = _days(project, at, known)
    posts = list(project.posts.select_related("program", "lead_program").order_by("position"))
    crew = crew_of_project(project)
    asked_back = known < today_at(project)
    held = held_by(list(crew.people), at=known if asked_back else None)
    places, families = places_of(posts), _families(held)
    judge = Judge(rules_of({one.standard_id for one in held}))
    answers = _answers(places, families, judge, confirming=confirming)
    days = {ask: _within_employment(found, crew) for ask, found in answers.items()}
    able = [one for place in places for one in _able(place, days, first)]
    rows = [
        pure.Post(one.key, one.title, one.places, one.post.starts_on, one.post.ends_on)
        for one in places
    ]
    found = pure.coverage(
        rows,
        able,
        first=first,
        last=project.ends_on,
        names={str(person): name for person, name in crew.people.items()},
    )
    facts = Facts(places, crew, families, judge, able, known, confirming)
    return ProjectCoverage(
        project, posts, found, crew.people, HeldBy(_best(places, answers, days)), facts
    )


def _days(project: Project, at: date | None, known: date | None) -> tuple[date, date]:
    """The first day to look at, and the last whose facts count."""
    today = today_at(project)
    day = today if at is None else at
    if day > project.ends_on:
        day = project.ends_on
    return max(project.starts_on, day), min(known or day, today)


def _families(held: Iterable[Held]) -> Families:
    found: dict[tuple[int, str], list[Held]] = defaultdict(list)
    for one in held:
        found[one.provider_id, one.program_code].append(one)
    return found


def _answers(
    places: Iterable[Place], families: Families, judge: Judge, *, confirming: bool
) -> dict[Ask, Answers]:
    return {
        ask: answers_of(
            ask, families.get((ask.provider, ask.code), []), judge, confirming=confirming
        )
        for ask in dict.fromkeys(ask for place in places for ask in place.asks)
    }


def _within_employment(found: Answers, crew: Crew) -> dict[int, list[Stretch]]:
    """The days on which each answers what is asked and is employed, in order."""
    return {
        person: days
        for person, rows in found.items()
        if (days := _common(_union([stretch for stretch, _ in rows]), crew.days[person]))
    }


def _union(stretches: list[Stretch]) -> list[Stretch]:
    return stretches if len(stretches) == 1 else joined(stretches)


def _common(one: Iterable[Stretch], other: Iterable[Stretch]) -> list[Stretch]:
    """The days that are in both."""
    return [(max(a, c), min(b, d)) for a, b in one for c, d in other if max(a, c) <= min(b, d)]


def _able(
    place: Place, days: Mapping[Ask, Mapping[int, list[Stretch]]], first: date
) -> Iterator[pure.Able]:
    """Who can fill the place when; what is past, or not while the post is open, is left out."""
    begins, closes = max(place.post.starts_on, first), place.post.ends_on
    found, *more = (days[ask] for ask in place.asks)
    for person, stretches in found.items():
        for other in more:
            stretches = _common(stretches, other.get(person, ()))
        for low, high in stretches:
            if low <= closes and begins <= high:
                yield pure.Able(place.key, str(person), low, None if high == date.max else high)


def _best(
    places: Iterable[Place],
    answers: Mapping[Ask, Answers],
    days: Mapping[Ask, Mapping[int, list[Stretch]]],
) -> dict[str, Mapping[int, Held]]:
    longest = {
        ask: {person: max(found[person], key=_end)[1] for person in days[ask]}
        for ask, found in answers.items()
    }
    return {
        place.key: _of_all(longest[place.asks[-1]], [days[ask] for ask in place.asks[:-1]])
        for place in places
    }


def _of_all(rows: Mapping[int, Held], others: list[Mapping[int, object]]) -> Mapping[int, Held]:
    if not others:
        return rows
    return {person: one for person, one in rows.items() if all(person in o for o in others)}


def _end(row: tuple[Stretch, Held]) -> tuple[date, date, str]:
    (_, last), held = row
    return last, held.issued_on, held.number
