"""The database's answer is that of ``standing_of`` and of the engine's ``kept``, on any day."""

from collections.abc import Iterator
from datetime import date, timedelta

import pytest
from django.db import transaction
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from assessments.engine.qualification import Continuity
from certificates.queries.qualified import Held, held_by, held_records
from tests.certificates.crew.builders import course
from tests.certificates.crew.register.histories import (
    DAYS,
    History,
    Scene,
    Told,
    all_records,
    histories,
    listed,
    told,
)
from tests.factories import make_organisation, make_person
from tests.triggers import lifted
from training.models import Program

# Zone of the site, and months and days of grace.
COURSES: list[tuple[str, tuple[int, int] | None]] = [
    ("America/New_York", (6, 30)),
    ("America/Santiago", (1, 0)),
    ("Pacific/Kiritimati", (6, 7)),
    ("Europe/London", None),
    ("Asia/Kathmandu", (3, 90)),
]
GUARDED = ("certificates_confirmation", "certificates_statuschange", "certificates_record")


@pytest.fixture
def scene(db: None) -> Iterator[tuple[Scene, list[Program]]]:
    """Return who and under which programs; facts may be dated back meanwhile."""
    programs = [course(zone=zone, continuity=rule) for zone, rule in COURSES]
    people = (make_person("Ilse Vantongeren"), make_person(), make_person())
    with lifted(*GUARDED):
        yield Scene(*people, make_organisation("contractor")), programs


def days_to_ask(drawn: list[date], held: list[Held]) -> list[date | None]:
    """Return the drawn days, today, and those about which every answer turns."""
    turning = [
        day + timedelta(days=shift)
        for row in held
        for day in (row.counts_from, row.confirm_by, row.counts_until, row.valid_until)
        if day is not None
        for shift in (-1, 0, 1)
    ]
    return [None, *drawn, *sorted(set(turning))[:12]]


@settings(
    max_examples=30, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(
    drawn=histories(len(COURSES)),
    days=st.lists(
        st.one_of(
            st.sampled_from(DAYS),
            st.dates(date(2024, 1, 1), date(2031, 1, 1)),
        ),
        min_size=2,
        max_size=4,
    ),
)
def test_the_database_says_what_the_python_says(
    scene: tuple[Scene, list[Program]], drawn: list[History], days: list[date]
) -> None:
    who, programs = scene
    rules = {program.pk: rule for program, (_, rule) in zip(programs, COURSES, strict=True)}
    with transaction.atomic():
        for history in drawn:
            who.live(history, programs[history.course])
        records = all_records()
        keys = [record.pk for record in records]
        for at in days_to_ask(days, held_records(keys, at=days[0])):
            found = {row.record_id: row for row in held_records(keys, at=at)}
            for record in records:
                rule = rules[record.decision.attempt.enrolment.run.program_id]
                row = found[record.pk]
                said = Told(row.word, row.confirm_by, row.counts_from, row.counts_until)
                assert said == told(record, at, Continuity(*rule) if rule else None), (at, row)
            assert {row.record_id for row in held_by([who.holder.pk], at=at)} == listed(records, at)
        transaction.set_rollback(True)
