"""What becomes of the record after each outcome of a review; past pages, lists and the queue."""

from typing import Any

import pytest
from django.core import mail
from django.core.exceptions import PermissionDenied
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from assessments.models import Attempt
from certificates.actions.credentials import make_credential
from certificates.actions.issue import issue_record
from certificates.actions.status.changes import restore_record, suspend_record
from certificates.actions.status.withdrawal import confirm_withdrawal, decline_withdrawal
from certificates.credentials.status_list import PURPOSES
from certificates.models import IssueItem, Record, StatusChange, WithdrawalProposal
from certificates.queries.credentials import set_indices
from certificates.queries.standing import standing_of
from certificates.queries.todo import records_to_issue, withdrawals_to_answer
from tests.certificates.builders import decide_attempt, record_row
from tests.certificates.conftest import Issued
from tests.certificates.credentials.documents import record_document
from tests.certificates.jobs.builders import work_off
from tests.certificates.own.builders import ANSWER, answered
from tests.certificates.status.builders import withdraw
from tests.certificates.status.conftest import Office
from tests.certificates.status.conftest import office as office  # the fixture
from tests.factories import make_role
from training.errors import Refused
from training.models import LogEntry, Person, Role

NOT_MET: dict[str, Any] = {"C3": {"answer": False}}
LEAD = frozenset({Role.Kind.LEAD})


@pytest.fixture
def reviewer(office: Office) -> Person:
    """Return an instructor of the provider who had nothing to do with the attempt."""
    return make_role(Role.Kind.INSTRUCTOR, office.yard.provider)


def another(office: Office) -> Attempt:
    """Return a further attempt of the holder, past the rules of going again."""
    yard = office.yard
    made: Attempt = yard.enrolment.attempts.create(
        standard=yard.standard, number=2, started_by=yard.instructor
    )
    return made


def whole(office: Office) -> Record:
    """Return a record with a whole document and its open form."""
    record = record_row(
        decide_attempt(another(office), office.yard.instructor), document=record_document()
    )
    make_credential(record=record, at=timezone.now())
    return record


def lists(record: Record) -> dict[str, bool]:
    """Return the record's bit in each status list as it would be published now."""
    found = record.credential
    return {
        purpose: found.index in set_indices(record.provider, purpose, found.list_number)
        for purpose in PURPOSES
    }


def fresh(record: Record) -> Record:
    return Record.objects.get(pk=record.pk)


def test_upheld_changes_nothing(office: Office, reviewer: Person) -> None:
    answered(office.record.decision, reviewer, "upheld")
    assert standing_of(fresh(office.record)).counts
    assert not StatusChange.objects.exists()
    assert not WithdrawalProposal.objects.exists()
    assert not IssueItem.objects.exists()


def test_void_suspends_at_once_and_a_second_person_withdraws(
    office: Office, reviewer: Person, django_capture_on_commit_callbacks: Any
) -> None:
    record = whole(office)
    assert not any(lists(record).values())
    with django_capture_on_commit_callbacks(execute=True):
        answered(record.decision, reviewer, "void")
    record = fresh(record)
    assert standing_of(record).word == "suspended"
    assert lists(record) == {"revocation": False, "suspension": True}
    (change,) = record.status_changes.all()
    assert (change.by, change.reason) == (reviewer, f"A review made the attempt void: {ANSWER}")
    assert [each.to for each in mail.outbox] == [[record.holder.email]]
    (todo,) = withdrawals_to_answer(office.lead, LEAD)
    assert todo.url == reverse("record_withdrawal", args=[record.number])
    # Nothing leads back: neither a refusal of the proposal nor a restoration.
    (proposal,) = record.proposals.all()
    with pytest.raises(Refused, match="cannot hold again"):
        decline_withdrawal(actor=office.lead, proposal=proposal, note="It was fine, really.")
    with pytest.raises(Refused):
        restore_record(actor=office.lead, record=record, reason="It was fine, really.")
    confirm_withdrawal(actor=office.lead, proposal=proposal)
    record = fresh(record)
    assert standing_of(record).word == "withdrawn"
    assert lists(record) == {"revocation": True, "suspension": True}


def test_the_page_offers_nothing_but_the_confirmation_after_void(
    office: Office, reviewer: Person, client: Client
) -> None:
    answered(office.record.decision, reviewer, "void")
    client.force_login(office.lead)
    page = client.get(reverse("record_withdrawal", args=[office.record.number]))
    assert page.status_code == 200
    assert 'name="decline"' not in page.text
    assert "cannot hold again" in page.text


def test_void_leaves_a_proposal_and_a_suspension_that_were_there(
    office: Office, reviewer: Person
) -> None:
    suspend_record(actor=office.lead, record=office.record, reason="A doubt about the stone.")
    answered(office.record.decision, reviewer, "void", answer="x" * 900)
    (change,) = office.record.status_changes.all()
    assert change.by == office.lead
    (proposal,) = office.record.proposals.all()
    assert (proposal.by, len(proposal.reason)) == (reviewer, 500)


def test_void_leaves_a_withdrawn_record(office: Office, reviewer: Person) -> None:
    withdraw(office.record, office.lead, office.second)
    answered(office.record.decision, reviewer, "void")
    assert office.record.status_changes.count() == 1
    assert office.record.proposals.count() == 1


def test_met_no_longer_withdraws_at_once_and_tells_the_holder_once(
    office: Office, reviewer: Person, client: Client, django_capture_on_commit_callbacks: Any
) -> None:
    record = whole(office)
    with django_capture_on_commit_callbacks(execute=True):
        review = answered(record.decision, reviewer, "changed", **NOT_MET)
        assert mail.outbox == []
    assert review.result is not None
    assert review.result.result == "not_yet_met"
    record = fresh(record)
    assert standing_of(record).word == "withdrawn"
    assert lists(record) == {"revocation": True, "suspension": True}
    (letter,) = mail.outbox
    assert letter.to == [record.holder.email]
    assert letter.subject.startswith("Your record is withdrawn")
    assert record.number in letter.body
    assert LogEntry.objects.filter(verb="record.decided_anew", actor=reviewer).count() == 1
    assert not IssueItem.objects.exists()
    assert "Issue" not in str([todo.title for todo in records_to_issue(office.lead, LEAD)])
    for reader, told in ((record.holder, True), (office.lead, True), (None, False)):
        if reader:
            client.force_login(reader)
            page = client.get(reverse("record", args=[record.number]))
        else:
            client.logout()
            page = client.get(reverse("check_record", args=[record.number]))
        assert (ANSWER in page.text) is told


def test_still_met_queues_a_record_in_place_of_one_that_held(
    issued: Issued, django_capture_on_commit_callbacks: Any
) -> None:
    yard, record = issued.yard, issued.record
    reviewer = make_role(Role.Kind.INSTRUCTOR, yard.provider)
    review = answered(issued.decision, reviewer, "changed", C1={"level": 1})
    (item,) = IssueItem.objects.all()
    assert (item.decision, item.job.asked_by) == (review.result, reviewer)
    work_off()
    item.refresh_from_db()
    assert (item.state, item.sentence) == ("issued", "")
    made = Record.objects.get(replaces=record)
    assert (made.decision, made.issued_by) == (review.result, reviewer)
    standing = standing_of(fresh(record))
    assert (standing.word, standing.replaced_by) == ("replaced", made.number)
    assert standing_of(made).counts
    assert made.document["replaces"] == record.number


def test_still_met_leaves_to_leads_what_did_not_hold(office: Office, reviewer: Person) -> None:
    suspend_record(actor=office.lead, record=office.record, reason="A doubt about the stone.")
    answered(office.record.decision, reviewer, "changed", C1={"level": 1})
    assert not IssueItem.objects.exists()
    assert len(list(records_to_issue(office.lead, LEAD))) == 1


def test_now_met_waits_for_a_lead(office: Office, reviewer: Person) -> None:
    attempt = another(office)
    failed = decide_attempt(attempt, office.yard.instructor, **NOT_MET)
    assert not list(records_to_issue(office.lead, LEAD))
    answered(failed, reviewer, "changed")
    (todo,) = records_to_issue(office.lead, LEAD)
    assert "Issue 1 record" in todo.title
    assert not IssueItem.objects.exists()


def test_nobody_else_outside_the_run_issues_its_record(
    issued: Issued,
) -> None:
    reviewer = make_role(Role.Kind.INSTRUCTOR, issued.yard.provider)
    review = answered(issued.decision, reviewer, "changed", C1={"level": 1})
    assert review.result is not None
    other = make_role(Role.Kind.INSTRUCTOR, issued.yard.provider)
    with pytest.raises(PermissionDenied):
        issue_record(actor=other, decision=review.result)
