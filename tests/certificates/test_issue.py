"""Issuing a record, from a decision that the engine made to the signed file in the storage."""

import threading
from collections.abc import Iterator
from datetime import UTC, date, datetime
from pathlib import Path
from typing import Any

import pytest
from django.conf import settings
from django.core import mail
from django.core.exceptions import PermissionDenied
from django.db import connection, transaction
from django.utils import timezone

from assessments.actions.decisions import sign_off
from assessments.actions.observations import record_observation
from assessments.models import Decision
from certificates.actions import issue
from certificates.actions.issue import issue_record
from certificates.keys import keystore_of
from certificates.models import Record
from certificates.recheck import differences
from certificates.record_document import valid_until
from certificates.rendering import COMPETENCY, KINDS, Kind
from certificates.signing import KeyStore, KeyStoreError, verify
from certificates.stored import read_as_issued
from tests.assessments.builders import GOOD, Yard, event, make_yard
from tests.certificates.builders import decide_attempt, file_of, met_decision
from tests.factories import make_person, make_role
from training.actions.log import verify_log
from training.digests import digest
from training.errors import Refused
from training.models import Enrolment, LogEntry, Program, Role


def stored_files() -> list[Path]:
    """Return every file in the storage."""
    return [path for path in Path(settings.MEDIA_ROOT).rglob("*") if path.is_file()]


def test_from_decision_to_signed_file(
    yard: Yard,
    decision: Decision,
    django_capture_on_commit_callbacks: Any,
) -> None:
    with django_capture_on_commit_callbacks(execute=True):
        record = issue_record(actor=yard.lead, decision=decision)
    pdf = file_of(record)
    verdict = verify(pdf, keystore_of(yard.provider).roots())
    assert verdict.genuine, verdict.faults
    assert verdict.record == record.document
    assert verdict.signed_at == record.issued_at
    assert verdict.certificate_sha256 == record.certificate_sha256
    assert digest(verdict.record) == record.digest
    assert record.document["decision"] == decision.document
    assert record.document["observations"] == decision.observations
    assert record.document["standard"] == yard.standard.document
    assert record.document["holder"] == {"name": yard.trainee.full_name}
    assert record.document["check_url"].endswith(f"/check/{record.number}/")
    assert (record.serial, record.holder, record.issued_by) == (1, yard.trainee, yard.lead)
    entry = LogEntry.objects.get(verb="record.issued")
    assert entry.data["pdf_sha256"] == record.pdf_sha256
    assert verify_log() is None
    (sent,) = mail.outbox
    assert sent.to == [yard.trainee.email]
    assert record.number in sent.body
    assert "certified" not in f"{sent.subject} {sent.body}".lower()


@pytest.mark.usefixtures("as_printed")
def test_from_the_scaffold_to_the_record_by_the_actions_alone(yard: Yard) -> None:
    attempt = yard.attempt()
    events = [event(attempt, "fit", {"accepted": True}, kind="hold_point")]
    events += [event(attempt, key, value) for key, value in GOOD.items()]
    for each in events:
        record_observation(actor=yard.instructor, event=each)
    decision = sign_off(actor=yard.instructor, attempt=attempt, password_checked=True)
    record = issue_record(actor=yard.lead, decision=decision)
    assert differences(record.document) == []
    assert record.document["result"] == "met"
    assert record.document["assessors"] == [
        {"id": str(yard.instructor.pk), "name": yard.instructor.full_name}
    ]


def test_the_instructor_of_the_run_may_issue_and_a_second_time_changes_nothing(
    yard: Yard, decision: Decision, django_capture_on_commit_callbacks: Any
) -> None:
    first = issue_record(actor=yard.instructor, decision=decision)
    with django_capture_on_commit_callbacks(execute=True) as callbacks:
        again = issue_record(actor=yard.lead, decision=decision)
    assert again == first
    assert callbacks == []
    assert Record.objects.count() == 1
    assert len(stored_files()) == 2
    assert LogEntry.objects.filter(verb="record.issued").count() == 1


def test_serials_have_no_gaps_and_are_counted_by_provider(yard: Yard, decision: Decision) -> None:
    other = make_yard()
    records = [
        issue_record(actor=yard.lead, decision=decision),
        issue_record(actor=other.lead, decision=met_decision(other)),
        issue_record(actor=yard.lead, decision=decide_attempt(yard.attempt(), yard.instructor)),
    ]
    assert [record.serial for record in records] == [1, 1, 2]
    assert len({record.number for record in records}) == 3


def test_each_provider_signs_with_keys_of_its_own(yard: Yard, decision: Decision) -> None:
    other = make_yard()
    record = issue_record(actor=yard.lead, decision=decision)
    issue_record(actor=other.lead, decision=met_decision(other))
    assert not verify(file_of(record), keystore_of(other.provider).roots()).genuine


@pytest.mark.parametrize("who", ["trainee", "stranger", "other lead", "other instructor"])
def test_others_may_not_issue(yard: Yard, decision: Decision, who: str) -> None:
    other = make_yard()
    actor = {
        "trainee": yard.trainee,
        "stranger": make_person(),
        "other lead": other.lead,
        "other instructor": make_role("instructor", yard.provider),
    }[who]
    with pytest.raises(PermissionDenied):
        issue_record(actor=actor, decision=decision)
    assert not Record.objects.exists()
    assert stored_files() == []


def test_nobody_issues_the_own_record(yard: Yard, decision: Decision) -> None:
    Role.objects.create(person=yard.trainee, organisation=yard.provider, kind="lead")
    with pytest.raises(Refused, match="the own record"):
        issue_record(actor=yard.trainee, decision=decision)


def test_not_yet_met_is_no_record(yard: Yard) -> None:
    bad = decide_attempt(yard.attempt(), yard.instructor, C3={"answer": False})
    with pytest.raises(Refused, match="“not yet met”"):
        issue_record(actor=yard.lead, decision=bad)


def test_a_decision_made_anew_is_no_longer_a_record(yard: Yard, decision: Decision) -> None:
    decide_attempt(decision.attempt, yard.instructor, replaces=decision)
    with pytest.raises(Refused, match="made anew"):
        issue_record(actor=yard.lead, decision=decision)


def test_the_record_of_a_decision_made_anew_takes_the_place_of_the_first(
    yard: Yard, decision: Decision
) -> None:
    first = issue_record(actor=yard.lead, decision=decision)
    anew = decide_attempt(decision.attempt, yard.instructor, replaces=decision, C1={"level": 1})
    second = issue_record(actor=yard.lead, decision=anew)
    assert second.replaces == first
    assert second.document["replaces"] == first.number
    assert issue_record(actor=yard.lead, decision=anew) == second


def test_a_decision_that_does_not_follow_from_its_observations_is_refused(
    yard: Yard, decision: Decision
) -> None:
    document = {**decision.document, "result": "met"}
    document["overall"] = {**document["overall"], "score": "1/3"}
    forged = Decision.objects.create(
        attempt=decision.attempt,
        standard_digest=decision.standard_digest,
        result="met",
        document=document,
        observations=decision.observations,
        engine_version=decision.engine_version,
        decided_by=yard.instructor,
        replaces=decision,
    )
    with pytest.raises(Refused, match="differs at overall"):
        issue_record(actor=yard.lead, decision=forged)
    assert stored_files() == []


def test_without_the_key_nothing_is_issued(
    yard: Yard, decision: Decision, monkeypatch: pytest.MonkeyPatch
) -> None:
    def closed(self: KeyStore, *, at: datetime) -> None:
        raise KeyStoreError("The passphrase is wrong.")

    monkeypatch.setattr(KeyStore, "identity", closed)
    with pytest.raises(Refused, match="cannot be signed"):
        issue_record(actor=yard.lead, decision=decision)
    assert not Record.objects.exists()
    assert stored_files() == []


def test_the_two_documents_hold_the_same_record(yard: Yard, decision: Decision) -> None:
    record = issue_record(actor=yard.lead, decision=decision)
    roots = keystore_of(yard.provider).roots()
    found = [verify(read_as_issued(record, kind), roots) for kind in KINDS]
    assert [verdict.faults for verdict in found] == [[], []]
    assert [verdict.record for verdict in found] == [record.document, record.document]
    assert [verdict.certificate_sha256 for verdict in found] == [record.certificate_sha256] * 2
    assert record.competency_sha256 != record.pdf_sha256
    assert len(stored_files()) == 2
    entry = LogEntry.objects.get(verb="record.issued")
    assert entry.data["competency_sha256"] == record.competency_sha256


def test_files_whose_row_does_not_come_to_be_are_removed(
    yard: Yard, decision: Decision, monkeypatch: pytest.MonkeyPatch
) -> None:
    def broken(**_: object) -> None:
        assert len(stored_files()) == 2
        raise RuntimeError("the log cannot be written")

    monkeypatch.setattr(issue, "write_log", broken)
    with pytest.raises(RuntimeError, match="the log"):
        issue_record(actor=yard.lead, decision=decision)
    assert not Record.objects.exists()
    assert stored_files() == []


def test_the_first_file_is_removed_when_the_second_cannot_be_stored(
    yard: Yard, decision: Decision, monkeypatch: pytest.MonkeyPatch
) -> None:
    store = issue._save

    def full(record: Record, kind: Kind, pdf: bytes) -> str:
        if kind == COMPETENCY:
            assert len(stored_files()) == 1
            raise OSError("No space left on device")
        return store(record, kind, pdf)

    monkeypatch.setattr(issue, "_save", full)
    with pytest.raises(OSError, match="No space"):
        issue_record(actor=yard.lead, decision=decision)
    assert not Record.objects.exists()
    assert stored_files() == []


def test_files_that_a_row_names_are_never_removed(yard: Yard, decision: Decision) -> None:
    # A connection may break after the commit went through, before its answer came back.
    record = issue_record(actor=yard.lead, decision=decision)
    issue._remove_orphans(record)
    assert len(stored_files()) == 2


def test_days_are_those_of_the_site(yard: Yard, monkeypatch: pytest.MonkeyPatch) -> None:
    # 03:30 UTC on 1 March 2027 is still the evening of 28 February in New York (UTC-5).
    moment = datetime(2027, 3, 1, 3, 30, tzinfo=UTC)
    Program.objects.filter(pk=yard.program.pk).update(validity_months=36)
    decision = met_decision(yard)
    monkeypatch.setattr(timezone, "now", lambda: moment)
    record = issue_record(actor=yard.lead, decision=decision)
    assert record.document["issued_at"] == "2027-02-28T22:30:00-05:00"
    assert record.valid_until == date(2030, 2, 28)
    assert record.document["valid_until"] == "2030-02-28"
    assert record.issued_at == moment


@pytest.mark.parametrize(
    ("issued_on", "months", "last_day"),
    [
        (date(2026, 11, 10), 36, date(2029, 11, 10)),
        (date(2026, 12, 31), 2, date(2027, 2, 28)),
        (date(2027, 12, 31), 2, date(2028, 2, 29)),  # 2028 is a leap year
        (date(2028, 2, 29), 12, date(2029, 2, 28)),
        (date(2026, 12, 1), 1, date(2027, 1, 1)),
        (date(2026, 10, 31), 1, date(2026, 11, 30)),
        (date(2026, 10, 31), None, None),
    ],
)
def test_months_are_counted_on_the_calendar(
    issued_on: date, months: int | None, last_day: date | None
) -> None:
    assert valid_until(issued_on, months) == last_day


def test_a_withdrawn_trainee_keeps_what_was_met(yard: Yard, decision: Decision) -> None:
    Enrolment.objects.filter(pk=yard.enrolment.pk).update(state="withdrawn")
    assert issue_record(actor=yard.lead, decision=decision).number


def test_an_outcome_without_a_minimum_has_a_score_and_nothing_to_be_met(db: None) -> None:
    outcome = {"key": "O1", "statement": "Sets a dutchman", "minimum": None}
    yard = make_yard(outcomes=[outcome])
    record = issue_record(actor=yard.lead, decision=met_decision(yard))
    assert [row["result"] for row in record.document["outcomes"]] == ["no_minimum"]
    assert record.document["outcomes"][0]["score"] == "1"


@pytest.fixture
def on_real_transactions(transactional_db: None) -> Iterator[Yard]:
    """Return a yard in a database where other connections see it."""
    yield make_yard()
    connection.close()


def test_two_at_once_make_one_record(on_real_transactions: Yard) -> None:
    yard = on_real_transactions
    decision = met_decision(yard)
    meet = threading.Barrier(2, timeout=60)
    issued: list[Record] = []

    def signed(*args: Any, **kwargs: Any) -> Any:
        found = plain(*args, **kwargs)
        meet.wait()  # both have seen that there is no record, and have signed one
        return found

    plain = issue._signed

    def press(actor: Any) -> None:
        try:
            issued.append(issue_record(actor=actor, decision=decision))
        finally:
            connection.close()

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(issue, "_signed", signed)
        threads = [
            threading.Thread(target=press, args=[actor]) for actor in (yard.lead, yard.instructor)
        ]
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join()
    assert len(issued) == 2
    assert issued[0] == issued[1]
    assert Record.objects.count() == 1
    assert len(stored_files()) == 2
    assert LogEntry.objects.filter(verb="record.issued").count() == 1
    assert len(mail.outbox) == 1


def test_issuing_inside_another_transaction_is_an_error(on_real_transactions: Yard) -> None:
    decision = met_decision(on_real_transactions)
    with pytest.raises(RuntimeError, match="durable"), transaction.atomic():
        issue_record(actor=on_real_transactions.lead, decision=decision)
    assert stored_files() == []
