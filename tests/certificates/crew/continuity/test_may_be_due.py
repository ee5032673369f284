"""The first choice among very many records leaves out none whose confirmation is due."""

from datetime import UTC, date, datetime, timedelta

import pytest

from certificates.queries.continuity import WANTED, confirmations_due
from certificates.queries.may_be_due import may_be_due
from certificates.queries.qualified import held_by
from tests.certificates.crew.builders import (
    confirm,
    course,
    crew_member,
    firm,
    record_for,
    take_back,
)
from tests.certificates.crew.clock import at
from training.queries.scope import crew_visible_to

ISSUED = datetime(2026, 10, 1, 15, tzinfo=UTC)


@pytest.mark.django_db
def test_day_by_day_it_finds_what_the_whole_register_finds() -> None:
    organisation, manager = firm()
    records = []
    for months, grace, zone in ((6, 0, "Pacific/Auckland"), (1, 45, "Pacific/Honolulu")):
        program = course(continuity=(months, grace), zone=zone)
        for last in (None, date(2027, 4, 10)):
            mason = crew_member(organisation)
            records.append(record_for(mason, program, issued_at=ISSUED, valid_until=last))
    # A correction goes on with a chain that began long before it.
    first = record_for(crew_member(organisation), course(continuity=(6, 30)), issued_at=ISSUED)
    corrected = datetime(2027, 3, 20, 15, tzinfo=UTC)
    records.append(
        record_for(
            first.holder,
            first.decision.attempt.enrolment.run.program,
            issued_at=corrected,
            replaces=first,
        )
    )
    take_back(confirm(records[2], date(2026, 10, 20), by=manager))
    record_for(crew_member(organisation), course(), issued_at=ISSUED)
    found = 0
    for number in range(0, 420, 9):
        day = date(2026, 10, 12) + timedelta(days=number)
        if day == date(2027, 4, 1):
            confirm(records[0], date(2027, 3, 31), by=manager)
        with at(datetime(day.year, day.month, day.day, 17, tzinfo=UTC)):
            crew = crew_visible_to(manager)
            wanted = {each.record_id for each in held_by(crew) if each.word in WANTED}
            due, total = confirmations_due(manager, 50)
            assert {each.record_id for each in due} == wanted
            assert total == len(wanted)
            found += total
    assert records[0].confirmations.exists()
    assert found > 20


@pytest.mark.django_db
def test_it_leaves_out_what_was_confirmed_lately_and_what_ended_long_ago() -> None:
    organisation, manager = firm()
    program = course(continuity=(6, 30))
    lately, over, soon = (
        record_for(crew_member(organisation), program, issued_at=ISSUED) for _ in range(3)
    )
    confirm(lately, date(2027, 3, 20), by=manager)
    with at("2027-03-21T17:00"):
        assert set(may_be_due(crew_visible_to(manager))) == {over.pk, soon.pk}
    confirm(soon, date(2027, 3, 21), by=manager)
    with at("2027-09-01T17:00"):
        assert set(may_be_due(crew_visible_to(manager))) == {lately.pk, soon.pk}
