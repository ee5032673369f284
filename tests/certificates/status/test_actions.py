"""Suspending, restoring and withdrawing by the actions: who may, when, and who is told."""

from collections.abc import Callable
from typing import Any

import pytest
from django.core import mail
from django.core.exceptions import PermissionDenied

from certificates.actions.status.changes import restore_record, suspend_record
from certificates.actions.status.guard import steps_of
from certificates.actions.status.withdrawal import (
    confirm_withdrawal,
    decline_withdrawal,
    propose_withdrawal,
)
from certificates.models import Record, WithdrawalProposal
from certificates.queries.standing import standing_of
from tests.certificates.builders import decide_attempt, record_row
from tests.certificates.status.builders import REASON, propose
from tests.certificates.status.conftest import Office
from tests.factories import make_organisation, make_role
from training.actions.log import verify_log
from training.errors import Refused
from training.models import LogEntry, Person, Role

Capture = Any


def word(office: Office) -> str:
    """Return the word of the record's standing, read anew."""
    return standing_of(Record.objects.get(pk=office.record.pk)).word


def test_suspended_and_restored_and_the_holder_told_each_time(
    office: Office, django_capture_on_commit_callbacks: Capture
) -> None:
    with django_capture_on_commit_callbacks(execute=True):
        suspend_record(actor=office.lead, record=office.record, reason=f"  {REASON} ")
    assert word(office) == "suspended"
    with django_capture_on_commit_callbacks(execute=True):
        restore_record(actor=office.second, record=office.record, reason="It was checked since.")
    assert word(office) == "current"
    suspended, restored = mail.outbox
    assert suspended.to == restored.to == [office.yard.trainee.email]
    assert suspended.subject == "Your record is suspended: Dutchman repair"
    assert REASON in suspended.body
    assert restored.subject == "Your record holds again: Dutchman repair"
    assert f"/records/{office.record.number}/" in restored.body
    verbs = LogEntry.objects.filter(subject_id=str(office.record.pk)).values_list("verb", "actor")
    assert list(verbs.order_by("seq")) == [
        ("record.suspended", office.lead.pk),
        ("record.restored", office.second.pk),
    ]
    assert verify_log() is None


def test_nobody_is_told_what_was_rolled_back(
    office: Office, django_capture_on_commit_callbacks: Capture
) -> None:
    with (
        django_capture_on_commit_callbacks(execute=True) as callbacks,
        pytest.raises(Refused, match="nothing to restore"),
    ):
        restore_record(actor=office.lead, record=office.record, reason=REASON)
    assert (callbacks, mail.outbox) == ([], [])


def test_withdrawn_by_two(office: Office, django_capture_on_commit_callbacks: Capture) -> None:
    with django_capture_on_commit_callbacks(execute=True):
        proposal = propose_withdrawal(
            actor=office.lead, record=office.record, reason=REASON, suspend=False
        )
    assert (word(office), mail.outbox) == ("current", [])
    with pytest.raises(Refused, match="another lead of the provider"):
        confirm_withdrawal(actor=office.lead, proposal=proposal)
    with django_capture_on_commit_callbacks(execute=True):
        made = confirm_withdrawal(actor=office.second, proposal=proposal, note="I looked too.")
    assert word(office) == "withdrawn"
    assert (made.by, made.second, made.reason) == (office.lead, office.second, REASON)
    assert proposal.answer.note == "I looked too."
    (sent,) = mail.outbox
    assert sent.subject == "Your record is withdrawn: Dutchman repair"
    assert "cannot be undone" in sent.body
    entry = LogEntry.objects.get(verb="record.withdrawn")
    assert (entry.actor, entry.data["proposed_by"]) == (office.second, office.lead.pk)


def test_suspended_while_the_proposal_waits_and_restored_when_it_is_declined(
    office: Office,
) -> None:
    proposal = propose_withdrawal(
        actor=office.lead, record=office.record, reason=REASON, suspend=True
    )
    assert word(office) == "suspended"
    with pytest.raises(Refused, match="waits for a second lead"):
        restore_record(actor=office.second, record=office.record, reason=REASON)
    with pytest.raises(Refused, match="You proposed this"):
        decline_withdrawal(actor=office.lead, proposal=proposal, note=REASON)
    with pytest.raises(Refused, match="Write why") as short:
        decline_withdrawal(actor=office.second, proposal=proposal, note="No.")
    assert short.value.field == "note"
    decline_withdrawal(actor=office.second, proposal=proposal, note="The name is right.")
    assert word(office) == "current"
    with pytest.raises(Refused, match="answered already"):
        confirm_withdrawal(actor=office.second, proposal=proposal)


def test_declining_leaves_a_suspension_that_was_there_before(office: Office) -> None:
    suspend_record(actor=office.lead, record=office.record, reason=REASON)
    proposal = propose_withdrawal(
        actor=office.lead, record=office.record, reason=REASON, suspend=True
    )
    decline_withdrawal(actor=office.second, proposal=proposal, note="Not enough for that.")
    assert word(office) == "suspended"


def test_only_leads_of_the_provider(office: Office) -> None:
    stranger = make_role(Role.Kind.LEAD, make_organisation())
    proposal = propose(office.record, office.lead)
    for person in (stranger, office.yard.instructor, office.yard.trainee):
        for act in deeds(office, proposal, person):
            with pytest.raises(PermissionDenied):
                act()
    assert word(office) == "current"


def deeds(
    office: Office, proposal: WithdrawalProposal, person: Person
) -> list[Callable[[], object]]:
    """Return everything that can be done to the record, ready to be done by ``person``."""
    on: Any = {"actor": person, "record": office.record, "reason": REASON}
    return [
        lambda: suspend_record(**on),
        lambda: restore_record(**on),
        lambda: propose_withdrawal(**on, suspend=True),
        lambda: confirm_withdrawal(actor=person, proposal=proposal),
        lambda: decline_withdrawal(actor=person, proposal=proposal, note=REASON),
    ]


def test_nobody_acts_on_the_own_record(office: Office) -> None:
    Role.objects.create(
        person=office.yard.trainee, organisation=office.yard.provider, kind=Role.Kind.LEAD
    )
    proposal = propose(office.record, office.lead)
    for act in deeds(office, proposal, office.yard.trainee):
        with pytest.raises(Refused, match="the own record"):
            act()


def test_who_is_slower_is_told(office: Office) -> None:
    seen = steps_of(office.record)
    suspend_record(actor=office.lead, record=office.record, reason=REASON, seen=seen)
    with pytest.raises(Refused, match="Somebody else acted on this record meanwhile"):
        propose_withdrawal(
            actor=office.second, record=office.record, reason=REASON, suspend=False, seen=seen
        )
    assert steps_of(office.record) == 1


def test_a_record_that_another_took_the_place_of(office: Office) -> None:
    other = record_row(office.record.decision, replaces=office.record)
    with pytest.raises(Refused, match=f"Record {other.number} took the place"):
        suspend_record(actor=office.lead, record=office.record, reason=REASON)


def test_a_record_whose_decision_was_made_anew(office: Office) -> None:
    decision = office.record.decision
    decide_attempt(decision.attempt, office.yard.instructor, replaces=decision)
    with pytest.raises(Refused, match="made anew"):
        suspend_record(actor=office.lead, record=office.record, reason=REASON)


@pytest.mark.parametrize(("reason", "said"), [("  a  b ", "10 characters"), ("x" * 501, "501")])
def test_a_reason_too_short_or_too_long(office: Office, reason: str, said: str) -> None:
    with pytest.raises(Refused, match=said) as refused:
        suspend_record(actor=office.lead, record=office.record, reason=reason)
    assert refused.value.field == "reason"
    assert word(office) == "current"


def test_after_a_withdrawal_each_deed_is_refused(office: Office) -> None:
    proposal = propose_withdrawal(
        actor=office.lead, record=office.record, reason=REASON, suspend=False
    )
    confirm_withdrawal(actor=office.second, proposal=proposal)
    for act in deeds(office, proposal, office.second):
        with pytest.raises(Refused, match=r"withdrawn|answered already"):
            act()
