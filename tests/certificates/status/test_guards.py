"""What the database refuses about the status of records, whoever asks it."""

from datetime import timedelta

import pytest
from django.db import DatabaseError, connection, transaction
from django.utils import timezone

from certificates.models import Doubt, KeyCompromise
from tests.certificates.builders import decide_attempt, met_decision, record_row
from tests.certificates.status.builders import (
    REASON,
    answer,
    change,
    compromise,
    propose,
    withdraw,
)
from tests.certificates.status.conftest import Office
from tests.triggers import lifted


def refused(name: str) -> pytest.RaisesExc[DatabaseError]:
    """Expect the database to refuse with the constraint or trigger ``name``."""
    return pytest.raises(DatabaseError, match=name)


@pytest.mark.parametrize(
    ("table", "column"),
    [
        ("statuschange", "reason"),
        ("withdrawalproposal", "reason"),
        ("withdrawalanswer", "note"),
        ("keycompromise", "reason"),
        ("doubt", "stamped_at"),
    ],
)
def test_nothing_of_it_ever_changes(office: Office, table: str, column: str) -> None:
    compromise(office.record, office.lead)
    withdraw(office.record, office.lead, office.second)
    connection.check_constraints()  # those put off to the end would refuse TRUNCATE first
    for statement in (
        f"UPDATE certificates_{table} SET {column} = NULL",
        f"DELETE FROM certificates_{table}",
        f"TRUNCATE certificates_{table} CASCADE",
    ):
        with refused("append-only"), transaction.atomic(), connection.cursor() as cursor:
            cursor.execute(statement)


@pytest.mark.parametrize(
    ("before", "word"),
    [
        ([], "restored"),
        (["suspended"], "suspended"),
        (["suspended", "restored"], "restored"),
    ],
)
def test_changes_in_no_order(office: Office, before: list[str], word: str) -> None:
    for each in before:
        change(office.record, each, office.lead)
    with refused("cannot be"):
        change(office.record, word, office.lead)


@pytest.mark.parametrize("word", ["suspended", "restored"])
def test_nothing_after_a_withdrawal(office: Office, word: str) -> None:
    withdraw(office.record, office.lead, office.second)
    with refused("a record that is withdrawn cannot be"):
        change(office.record, word, office.lead)


def test_no_proposal_after_a_withdrawal(office: Office) -> None:
    withdraw(office.record, office.lead, office.second)
    with refused("withdrawn already"):
        propose(office.record, office.lead)


def test_no_withdrawal_by_one(office: Office) -> None:
    proposal = propose(office.record, office.lead)
    with refused("another who confirmed"), transaction.atomic():
        withdraw_row(office, second=None, proposal=None)
    with refused("another who confirmed"), transaction.atomic():
        withdraw_row(office, second=office.second, proposal=proposal)
    with refused("another person than made it"), transaction.atomic():
        answer(proposal, office.lead)
    answer(proposal, office.second)
    with refused("another who confirmed"), transaction.atomic():
        withdraw_row(office, second=office.yard.instructor, proposal=proposal)
    with refused("another who confirmed"), transaction.atomic():
        withdraw_row(office, second=office.lead, proposal=proposal)
    withdraw_row(office, second=office.second, proposal=proposal)


def test_two_people_even_without_the_triggers(office: Office) -> None:
    proposal = propose(office.record, office.lead)
    with lifted("certificates_statuschange"):
        with refused("status_withdrawn_by_two"), transaction.atomic():
            withdraw_row(office, second=None, proposal=None)
        with refused("status_second_is_another"), transaction.atomic():
            withdraw_row(office, second=office.lead, proposal=proposal)


def withdraw_row(office: Office, **fields: object) -> None:
    """Save a withdrawal with these fields."""
    change(office.record, "withdrawn", office.lead, **fields)


def test_a_declined_proposal_withdraws_nothing(office: Office) -> None:
    proposal = propose(office.record, office.lead)
    answer(proposal, office.second, confirmed=False, note=REASON)
    with refused("another who confirmed"):
        withdraw_row(office, second=office.second, proposal=proposal)


def test_a_proposal_serves_its_own_record_only(office: Office) -> None:
    other = record_row(decide_attempt(office.yard.attempt(), office.yard.instructor))
    proposal = propose(other, office.lead)
    answer(proposal, office.second)
    with refused("about another record"):
        withdraw_row(office, second=office.second, proposal=proposal)


def test_one_proposal_at_a_time_and_one_answer(office: Office) -> None:
    proposal = propose(office.record, office.lead)
    with refused("waits for its answer"), transaction.atomic():
        propose(office.record, office.second)
    answer(proposal, office.second, confirmed=False, note=REASON)
    with refused("proposal_id"), transaction.atomic():
        answer(proposal, office.second)
    propose(office.record, office.second)


def test_a_refusal_says_why(office: Office) -> None:
    proposal = propose(office.record, office.lead)
    with refused("answer_declined_with_note"):
        answer(proposal, office.second, confirmed=False, note="No.")


@pytest.mark.parametrize("reason", ["", "too short"])
def test_no_change_without_a_reason(office: Office, reason: str) -> None:
    with refused("status_reason_given"):
        change(office.record, "suspended", office.lead, reason=reason)


def test_no_gap_no_doubling_no_dating_back(office: Office) -> None:
    with refused("without gaps"), transaction.atomic():
        change(office.record, "suspended", office.lead, number=2)
    with refused("in the past"), transaction.atomic():
        change(office.record, "suspended", office.lead, at=timezone.now() - timedelta(minutes=6))
    first = change(office.record, "suspended", office.lead)
    with refused("without gaps"), transaction.atomic():
        change(office.record, "restored", office.lead, number=1)
    with refused("in the past"), transaction.atomic():
        change(office.record, "restored", office.lead, at=first.at - timedelta(seconds=1))


def test_a_withdrawn_record_is_not_issued_again_from_the_same_decision(office: Office) -> None:
    withdraw(office.record, office.lead, office.second)
    with refused("not issued again"):
        record_row(office.record.decision, replaces=office.record)


def test_nothing_is_issued_with_a_key_that_was_given_up(office: Office) -> None:
    compromise(office.record, office.lead)
    decision = met_decision(office.yard)
    with refused("given up"), transaction.atomic():
        record_row(decision)
    record_row(decision, certificate_sha256="1" * 64)


def test_a_doubt_concerns_records_of_that_key_signed_since(office: Office) -> None:
    made = compromise(office.record, office.lead)
    other = record_row(met_decision(office.yard), certificate_sha256="1" * 64)
    with refused("does not concern"), transaction.atomic():
        Doubt.objects.create(compromise=made, record=other)
    with refused("doubt_once"), transaction.atomic():
        Doubt.objects.create(compromise=made, record=office.record)
    again = KeyCompromise.objects.create(
        provider=made.provider,
        certificate_sha256=made.certificate_sha256,
        doubtful_from=made.doubtful_from,
        reason=REASON,
        by=office.lead,
    )
    with refused("does not concern"), transaction.atomic():
        stamped = made.doubtful_from - timedelta(seconds=1)
        Doubt.objects.create(compromise=again, record=office.record, stamped_at=stamped)
    Doubt.objects.create(compromise=again, record=office.record, stamped_at=made.doubtful_from)
