"""How a record stands, today and as at any other day."""

from datetime import UTC, date, datetime, timedelta

import pytest
from django.utils import timezone
from pytest_django import DjangoAssertNumQueries

from certificates.models import Record
from certificates.queries.standing import standing_of, with_standing
from tests.certificates.builders import ISSUED, decide_attempt, record_row
from tests.certificates.status.builders import change, compromise, later, withdraw
from tests.certificates.status.conftest import Office


def again(record: Record) -> Record:
    """Return the record as the database has it, joined for its standing."""
    return with_standing(Record.objects.all()).get(pk=record.pk)


def word(record: Record, at: date | datetime | None = None) -> str:
    """Return the word of the record's standing."""
    return standing_of(again(record), at).word


def test_issued_suspended_restored_and_withdrawn(office: Office) -> None:
    record = office.record
    assert word(record) == "current"
    change(record, "suspended", office.lead, at=later(1))
    change(record, "restored", office.lead, at=later(2))
    withdrawal = withdraw(record, office.lead, office.second, at=later(3))
    found = {days: word(record, later(days, hours=1)) for days in range(4)}
    assert found == {0: "current", 1: "suspended", 2: "current", 3: "withdrawn"}
    standing = standing_of(again(record))
    assert (standing.word, standing.since, standing.counts) == ("withdrawn", withdrawal.at, False)


def test_a_change_takes_effect_at_its_instant(office: Office) -> None:
    made = change(office.record, "suspended", office.lead)
    assert word(office.record, made.at) == "suspended"
    assert word(office.record, made.at - timedelta(microseconds=1)) == "current"


def test_a_date_is_the_end_of_that_day_at_the_site(office: Office) -> None:
    # 3 in the morning of the 5th in London is still the 4th in New York, where the site is.
    made = change(office.record, "suspended", office.lead, at=datetime(2031, 3, 5, 3, tzinfo=UTC))
    assert made.at.hour == 3
    assert word(office.record, date(2031, 3, 3)) == "current"
    assert word(office.record, date(2031, 3, 4)) == "suspended"


def test_before_its_issue_there_is_no_record(office: Office) -> None:
    assert word(office.record, ISSUED - timedelta(seconds=1)) == "not_issued"
    assert not standing_of(again(office.record), ISSUED - timedelta(seconds=1)).counts
    assert word(office.record, ISSUED) == "current"


@pytest.mark.parametrize(
    ("day", "expected"),
    [
        (date(2027, 1, 1), "current"),
        (date(2027, 2, 9), "current"),
        (date(2027, 2, 10), "lapses_soon"),
        (date(2027, 5, 11), "lapses_soon"),
        (date(2027, 5, 12), "lapsed"),
    ],
)
def test_the_last_day_still_counts(office: Office, day: date, expected: str) -> None:
    decision = decide_attempt(office.yard.attempt(), office.yard.instructor)
    record = record_row(decision, valid_until=date(2027, 5, 11))
    assert word(record, day) == expected
    assert standing_of(again(record), day).counts == (expected != "lapsed")


def test_replaced_from_the_issue_of_the_other_on(office: Office) -> None:
    instant = later(10)
    other = record_row(office.record.decision, replaces=office.record, issued_at=instant)
    assert word(office.record, instant - timedelta(seconds=1)) == "current"
    standing = standing_of(again(office.record), instant)
    assert (standing.word, standing.replaced_by) == ("replaced", other.number)
    assert standing.since == instant


def test_a_withdrawn_record_stays_so_when_a_new_decision_brings_another(office: Office) -> None:
    withdraw(office.record, office.lead, office.second)
    anew = decide_attempt(
        office.record.decision.attempt, office.yard.instructor, replaces=office.record.decision
    )
    other = record_row(anew, replaces=office.record, issued_at=timezone.now())
    assert (word(office.record), word(other)) == ("withdrawn", "current")


def test_a_decision_made_anew_withdraws_from_then_on(office: Office) -> None:
    before = timezone.now()
    anew = decide_attempt(
        office.record.decision.attempt, office.yard.instructor, replaces=office.record.decision
    )
    assert word(office.record, before) == "current"
    standing = standing_of(again(office.record))
    assert (standing.word, standing.decided_anew_at) == ("withdrawn", anew.decided_at)


def test_a_key_given_up_makes_doubtful_from_its_declaration_on(office: Office) -> None:
    made = compromise(office.record, office.lead)
    standing = standing_of(again(office.record))
    assert (standing.word, standing.counts) == ("doubtful", False)
    assert (standing.since, standing.doubtful_from) == (made.at, made.doubtful_from)
    assert word(office.record, made.at - timedelta(seconds=1)) == "current"


def test_suspended_is_told_before_doubtful(office: Office) -> None:
    compromise(office.record, office.lead)
    change(office.record, "suspended", office.lead)
    assert word(office.record) == "suspended"
    change(office.record, "restored", office.lead)
    assert word(office.record) == "doubtful"


def test_three_records_ask_no_more_than_one(
    office: Office, django_assert_num_queries: DjangoAssertNumQueries
) -> None:
    for number in (1, 3):
        while Record.objects.count() < number:
            record_row(decide_attempt(office.yard.attempt(), office.yard.instructor))
        change(Record.objects.latest("serial"), "suspended", office.lead)
        with django_assert_num_queries(3):
            words = [standing_of(record).word for record in with_standing(Record.objects.all())]
        assert len(words) == number
