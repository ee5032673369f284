"""Coverage against a count in plain Python, day by day, on small invented projects.

The reference knows nothing of the product's queries: it keeps what it put into the database in
plain rows, asks for each day who could stand where, and tries everybody at every place.
"""

from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from functools import cache
from random import Random

import pytest

from certificates.models import Project
from certificates.queries.project_coverage import coverage_of
from certificates.queries.why_not import why_not
from tests.certificates.crew.builders import ISSUED, course, crew_member, firm, record_for
from tests.certificates.crew.coverage.builders import post_on, project_for, set_clock
from training.models import Program

pytestmark = pytest.mark.django_db
START = date(2028, 2, 20)  # the leap day is among the days
DAYS = 20
POSITIONS = ["sill", "vertical face", "soffit"]
COVERED = 2  # QUALIFICATION of the builders: a vertical face was assessed, and a sill is easier


@dataclass(frozen=True)
class Held:
    """A record: its program, and its last day."""

    program: int
    until: date | None


@dataclass(frozen=True)
class Mason:
    """Who is employed until a day, with records."""

    pk: int
    until: date | None
    records: tuple[Held, ...]

    def holds(self, program: int, on: date) -> bool:
        """Whether a record of the program counts on the day."""
        return any(
            one.program == program and (one.until is None or on <= one.until)
            for one in self.records
        )


@dataclass(frozen=True)
class Job:
    """So many places of one kind; ``position`` is the place asked for in POSITIONS."""

    key: str
    places: int
    programs: tuple[int, ...]
    position: int | None
    first: date
    last: date

    def open_to(self, mason: Mason, on: date) -> bool:
        """Whether the mason could stand here on the day."""
        employed = mason.until is None or on <= mason.until
        reached = self.position is None or self.position < COVERED
        return employed and reached and all(mason.holds(one, on) for one in self.programs)


def some_day(draw: Random) -> date:
    """Return a day around the project's."""
    return START + timedelta(days=draw.randint(-2, DAYS + 2))


def most_filled(places: list[Job], masons: list[Mason], on: date) -> int:
    """Try everybody at every place, and nobody; the most places filled at once."""
    open_to = [[job.open_to(mason, on) for mason in masons] for job in places]

    @cache
    def most(place: int, taken: int) -> int:
        if place == len(places):
            return 0
        return max(
            most(place + 1, taken),
            *(
                1 + most(place + 1, taken | 1 << number)
                for number in range(len(masons))
                if open_to[place][number] and not taken & 1 << number
            ),
            0,
        )

    return most(0, 0)


def draw_masons(draw: Random, project: Project, programs: list[Program]) -> list[Mason]:
    """Draw a crew of up to five, in the database and as plain rows."""
    masons = []
    for _ in range(draw.randint(1, 5)):
        until = some_day(draw) if draw.random() < 0.3 else None
        person = crew_member(project.contractor, until=until)
        held = []
        for _ in range(draw.randint(0, 3)):
            number = draw.randrange(len(programs))
            last = some_day(draw) if draw.random() < 0.6 else None
            record_for(person, programs[number], valid_until=last)
            held.append(Held(number, last))
        masons.append(Mason(person.pk, until, tuple(held)))
    return masons


def draw_jobs(draw: Random, project: Project, programs: list[Program]) -> list[Job]:
    """Draw up to three posts, some with a lead, in the database and as plain rows."""
    jobs = []
    for code in "ABC"[: draw.randint(1, 3)]:
        number, lead = draw.randrange(len(programs)), draw.randrange(len(programs))
        position = draw.choice([None, 0, 1, 2])
        first = START + timedelta(days=draw.randint(0, DAYS - 1))
        last = first + timedelta(days=draw.randint(0, (project.ends_on - first).days))
        places, led = draw.randint(1, 2), draw.random() < 0.4
        post_on(
            project,
            programs[number],
            code,
            places=places,
            conditions={} if position is None else {"position": POSITIONS[position]},
            lead=programs[lead] if led else None,
            masons_per_lead=2,
            starts_on=first,
            ends_on=last,
        )
        jobs.append(Job(code, places, (number,), position, first, last))
        if led:  # one lead for two masons or fewer
            jobs.append(Job(f"{code}/lead", 1, (number, lead), position, first, last))
    return jobs


@pytest.mark.parametrize("seed", range(15))
def test_every_day_is_as_counted(seed: int, monkeypatch: pytest.MonkeyPatch) -> None:
    draw = Random(seed)
    set_clock(monkeypatch, datetime.combine(START, datetime.min.time(), UTC) - timedelta(days=5))
    project = project_for(firm()[0], starts_on=START, days=DAYS)
    programs = [course(), course()]
    masons = draw_masons(draw, project, programs)
    jobs = draw_jobs(draw, project, programs)
    found = coverage_of(project)
    assert (found.coverage.first, found.coverage.last) == (START, project.ends_on)
    short = []
    for span in found.coverage.spans:
        for day in range((span.last - span.first).days + 1):
            on = span.first + timedelta(days=day)
            there = [job for job in jobs if job.first <= on <= job.last]
            places = [job for job in there for _ in range(job.places)]
            assert (on, span.places) == (on, len(places))
            assert (on, span.filled) == (on, most_filled(places, masons, on))
            rows = {job.key: job for job in there}
            for key, people in span.assigned.items():
                known = [mason for mason in masons if str(mason.pk) in people]
                assert all(rows[key].open_to(mason, on) for mason in known)
            short += [on] if span.filled < len(places) else []
    broken = found.coverage.breaks
    assert (broken.day if broken else None) == min(short, default=None)


@pytest.mark.parametrize("seed", range(100, 105))
def test_why_not_says_nothing_of_exactly_those_who_can(
    seed: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    draw = Random(seed)
    set_clock(monkeypatch, ISSUED + timedelta(days=400))
    project = project_for(firm()[0], starts_on=START, days=DAYS)
    programs = [course(), course()]
    masons = draw_masons(draw, project, programs)
    jobs = {job.key: job for job in draw_jobs(draw, project, programs)}
    for post in project.posts.all():
        for leads in (False, True):
            job = jobs.get(f"{post.code}/lead" if leads else post.code)
            if job is None:
                continue
            for on in (START, START + timedelta(days=9), project.ends_on):
                told = why_not(post, [one.pk for one in masons], on=on, leads=leads)
                free = {person for person, why in told.items() if not why}
                assert free == {mason.pk for mason in masons if job.open_to(mason, on)}
