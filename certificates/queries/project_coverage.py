"""Whether a contractor's crew can fill the posts of a project, from the records in the database."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date

from certificates import coverage as pure
from certificates.models import Post, Project
from certificates.queries.answers import Answers, Batches, HeldBy, able_at, answers_of, batches_of
from certificates.queries.crew_days import Crew, crew_of_project, today_at
from certificates.queries.needs import Ask, Judge, Place, places_of
from certificates.queries.qualified import Held, held_by
from certificates.queries.ranges import rules_of
from certificates.queries.why_not import why_not

__all__ = ["Facts", "HeldBy", "ProjectCoverage", "able_now", "coverage_of", "why_not"]

Families = Mapping[tuple[int, str], list[Held]]


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
    """The coverage of a project from a day on; without posts, one without places.

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
    answers = _answers(places, batches_of(held, crew.days, confirming=confirming), judge)
    able = [one for place in places for one in able_at(place, answers, first)]
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
    return ProjectCoverage(project, posts, found, crew.people, HeldBy(places, answers), facts)


def able_now(found: ProjectCoverage, person: int) -> list[pure.Able]:
    """What one of the crew is able to do by what is known now, for ``coverage.Outlook.change``.

    At most four queries. Employment and posts are those of ``found``: after a change of these,
    ``coverage_of`` is asked again.
    """
    facts = found.facts
    held = held_by([person])
    standards = {one.standard_id for one in held} - facts.judge.rules.keys()
    judge = Judge({**facts.judge.rules, **rules_of(standards)})
    batches = batches_of(held, facts.crew.days, confirming=facts.confirming)
    answers = _answers(facts.places, batches, judge)
    return [one for place in facts.places for one in able_at(place, answers, found.coverage.first)]


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


def _answers(places: Iterable[Place], batches: Batches, judge: Judge) -> dict[Ask, Answers]:
    asks = dict.fromkeys(ask for place in places for ask in place.asks)
    return {ask: answers_of(ask, batches, judge) for ask in asks}
