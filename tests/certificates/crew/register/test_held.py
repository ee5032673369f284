"""Who holds what on a day: cases told by hand."""

from datetime import UTC, date, datetime, timedelta

import pytest
from pytest_django import DjangoAssertNumQueries

from certificates.models import Record
from certificates.queries.qualified import Held, held_by, held_records
from tests.certificates.crew.builders import (
    confirm,
    course,
    crew_member,
    days_ago,
    decided,
    firm,
    record_for,
    take_back,
)
from tests.factories import make_person
from training.models import Person

pytestmark = pytest.mark.django_db

# In the evening of 10 November in New York it is the 11th in London.
EVENING = datetime(2026, 11, 11, 1, 30, tzinfo=UTC)


def one(record: Record, at: date | None = None) -> Held:
    """Return how the only record of its holder stands."""
    (found,) = held_by([record.holder_id], at=at)
    return found


def test_every_field_is_told() -> None:
    person, program = make_person("Ilse Vantongeren"), course(continuity=(6, 30))
    record = record_for(person, program, issued_at=EVENING, valid_until=date(2028, 11, 10))
    attempt = record.decision.attempt
    assert one(record, date(2026, 12, 1)) == Held(
        holder_id=person.pk,
        holder="Ilse Vantongeren",
        record_id=record.pk,
        number=record.number,
        attempt_id=attempt.pk,
        program_id=program.pk,
        provider_id=program.provider_id,
        program_code=program.code,
        program_title=program.title,
        program_version=1,
        standard_id=attempt.standard_id,
        word="current",
        counts=True,
        issued_on=date(2026, 11, 10),
        valid_until=date(2028, 11, 10),
        confirm_by=date(2027, 5, 10),
        counts_from=date(2026, 11, 10),
        counts_until=date(2027, 6, 9),
    )


@pytest.mark.parametrize(
    ("day", "word", "counts"),
    [
        (date(2027, 4, 9), "current", True),
        (date(2027, 4, 10), "confirmation_due", True),  # 30 days before 10 May
        (date(2027, 5, 10), "confirmation_due", True),
        (date(2027, 5, 11), "in_grace", True),
        (date(2027, 6, 9), "in_grace", True),  # 30 days after 10 May
        (date(2027, 6, 10), "not_confirmed", False),
        (date(2028, 11, 10), "not_confirmed", False),
        (date(2028, 11, 11), "lapsed", False),
    ],
)
def test_without_a_confirmation_the_record_stops(day: date, word: str, counts: bool) -> None:
    program = course(continuity=(6, 30))
    record = record_for(make_person(), program, valid_until=date(2028, 11, 10))
    held = one(record, day)
    assert (held.word, held.counts) == (word, counts)
    assert held.counts_until == date(2027, 6, 9)


def test_a_late_signature_is_passed_over_and_a_gap_is_for_good() -> None:
    record = record_for(make_person(), course(continuity=(6, 0)))
    confirm(record, date(2027, 3, 31), signed_on=date(2027, 6, 1))  # due on 10 May: too late
    assert one(record, date(2027, 6, 1)).counts_until == date(2027, 5, 10)
    confirm(record, date(2027, 2, 1))
    # Due on 1 August now, so that the signature of 1 June is in time: 31 March and six months.
    assert one(record, date(2027, 6, 1)).counts_until == date(2027, 9, 30)
    confirm(record, date(2027, 10, 1))
    assert one(record, date(2027, 10, 1)).word == "not_confirmed"
    assert one(record, date(2027, 10, 1)).confirm_by == date(2027, 9, 30)


def test_what_was_taken_back_counts_on_the_days_before() -> None:
    record = record_for(make_person(), course(continuity=(6, 30)))
    given = confirm(record, date(2027, 3, 1))
    take_back(given, at=datetime(2027, 4, 1, 12, tzinfo=UTC))
    assert one(record, date(2027, 3, 31)).confirm_by == date(2027, 9, 1)
    assert one(record, date(2027, 4, 1)).confirm_by == date(2027, 5, 10)


def test_a_correction_goes_on_with_the_chain_and_is_listed_alone() -> None:
    person, program = make_person(), course(continuity=(6, 30))
    first = record_for(person, program)
    later = record_for(
        person, program, replaces=first, issued_at=datetime(2027, 2, 1, 12, tzinfo=UTC)
    )
    assert one(first, date(2027, 1, 31)).record_id == first.pk
    held = one(first, date(2027, 2, 1))
    assert (held.record_id, held.confirm_by) == (later.pk, date(2027, 5, 10))
    assert (held.issued_on, held.counts_from) == (date(2027, 2, 1), date(2026, 11, 10))
    words = {row.record_id: row.word for row in held_records([first.pk, later.pk])}
    assert words[first.pk] == "replaced"
    (before,) = held_records([later.pk], at=date(2027, 1, 31))
    assert (before.word, before.counts) == ("not_issued", False)


def test_a_decision_made_anew_begins_a_chain_of_its_own() -> None:
    person, program = make_person(), course(continuity=(6, 30))
    first = record_for(person, program)
    moment = datetime(2027, 2, 1, 12, tzinfo=UTC)
    anew = decided(person, program, replaces=first.decision, decided_at=moment)
    held = one(first, date(2027, 2, 1))
    assert (held.word, held.counts) == ("withdrawn", False)
    assert held.counts_until == held.counts_from - timedelta(days=1)
    later = record_for(person, program, replaces=first, decision=anew, issued_at=moment)
    assert one(first, date(2027, 2, 1)).record_id == later.pk
    assert one(first, date(2027, 2, 1)).confirm_by == date(2027, 8, 1)


def test_a_record_that_ends_before_the_day_due_asks_for_nothing() -> None:
    record = record_for(make_person(), course(continuity=(6, 30)), valid_until=date(2027, 5, 10))
    held = one(record, date(2027, 5, 10))
    assert (held.word, held.confirm_by) == ("lapses_soon", None)
    assert held.counts_until == date(2027, 5, 10)


def test_nobody_and_nothing() -> None:
    record_for(make_person(), course())
    assert held_by([]) == []
    assert held_by([make_person().pk]) == []
    assert held_records([]) == []
    assert held_by(Person.objects.none()) == []


def test_a_record_is_not_held_before_its_issue() -> None:
    record = record_for(make_person(), course(), issued_at=EVENING)
    assert held_by([record.holder_id], at=date(2026, 11, 9)) == []
    assert one(record, date(2026, 11, 10)).word == "current"


def test_three_ask_no_more_than_one(django_assert_num_queries: DjangoAssertNumQueries) -> None:
    organisation, _ = firm()
    for number in (1, 3):
        while organisation.employments.count() < number:
            record = record_for(crew_member(organisation), course(continuity=(6, 30)))
            confirm(record, days_ago(3))
        people = Person.objects.filter(employments__organisation=organisation)
        with django_assert_num_queries(3):
            assert len(held_by(people)) == number
