"""Leads act on one record in any order: what holds is always what the model says."""

from typing import Any

import pytest
from hypothesis import HealthCheck, settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, invariant, rule, run_state_machine_as_test

from certificates.actions.status.changes import restore_record, suspend_record
from certificates.actions.status.guard import steps_of
from certificates.actions.status.withdrawal import (
    confirm_withdrawal,
    decline_withdrawal,
    propose_withdrawal,
)
from certificates.models import Record, StatusChange, WithdrawalProposal
from certificates.queries.life import life_of
from certificates.queries.standing import standing_of
from tests.certificates.status.builders import REASON
from tests.certificates.status.conftest import Office
from tests.world import rolled_back
from training.errors import Refused

LEADS = st.integers(0, 1)


class Machine(RuleBasedStateMachine):
    """Two leads and a record; the model is one word, who proposed, and what that suspended."""

    office: Office

    def __init__(self) -> None:
        super().__init__()
        self.undo = rolled_back()
        self.undo.__enter__()
        self.leads = [self.office.lead, self.office.second]
        self.word = "current"
        self.proposer: int | None = None
        self.by_proposal = False
        self.expected_steps = 0

    def teardown(self) -> None:
        """Leave the next run an untouched record."""
        self.undo.__exit__(None, None, None)

    def tried(self, lead: int, action: Any, *, allowed: bool, **given: Any) -> None:
        """Do it, and see that it is refused exactly when the model does not allow it."""
        if allowed:
            action(actor=self.leads[lead], **given)
            return
        with pytest.raises(Refused):
            action(actor=self.leads[lead], **given)

    @property
    def proposal(self) -> WithdrawalProposal | None:
        """The proposal made last."""
        return WithdrawalProposal.objects.order_by("-pk").first()

    @rule(lead=LEADS)
    def suspend(self, lead: int) -> None:
        """Anybody suspends a record that holds."""
        allowed = self.word == "current"
        self.tried(lead, suspend_record, allowed=allowed, record=self.office.record, reason=REASON)
        if allowed:
            self.word, self.by_proposal = "suspended", False
            self.expected_steps += 1

    @rule(lead=LEADS)
    def restore(self, lead: int) -> None:
        """Anybody restores a suspended one that nobody proposed to withdraw."""
        allowed = self.word == "suspended" and self.proposer is None
        self.tried(lead, restore_record, allowed=allowed, record=self.office.record, reason=REASON)
        if allowed:
            self.word = "current"
            self.expected_steps += 1

    @rule(lead=LEADS, suspend=st.booleans())
    def propose(self, lead: int, suspend: bool) -> None:
        """One proposal waits at a time."""
        allowed = self.word != "withdrawn" and self.proposer is None
        given = {"record": self.office.record, "reason": REASON, "suspend": suspend}
        self.tried(lead, propose_withdrawal, allowed=allowed, **given)
        if allowed:
            self.proposer = lead
            self.by_proposal = suspend and self.word == "current"
            self.expected_steps += 1 + self.by_proposal
            if self.by_proposal:
                self.word = "suspended"

    @rule(lead=LEADS)
    def confirm(self, lead: int) -> None:
        """The other lead withdraws for good."""
        if self.proposal is None:
            return
        allowed = self.proposer not in (None, lead)
        self.tried(lead, confirm_withdrawal, allowed=allowed, proposal=self.proposal)
        if allowed:
            self.word, self.proposer = "withdrawn", None
            self.expected_steps += 2

    @rule(lead=LEADS)
    def decline(self, lead: int) -> None:
        """The other lead lets it be; a suspension that came with it ends."""
        if self.proposal is None:
            return
        allowed = self.proposer not in (None, lead)
        self.tried(lead, decline_withdrawal, allowed=allowed, proposal=self.proposal, note=REASON)
        if allowed:
            self.proposer = None
            self.expected_steps += 1 + self.by_proposal
            if self.by_proposal:
                self.word, self.by_proposal = "current", False

    @invariant()
    def stands_as_the_model_says(self) -> None:
        """The standing, the count of steps, and the numbers of the changes."""
        record = Record.objects.get(pk=self.office.record.pk)
        assert standing_of(record).word == self.word
        assert steps_of(record) == life_of(record, inside=True).seen == self.expected_steps
        changes = list(StatusChange.objects.filter(record=record).order_by("number"))
        assert [change.number for change in changes] == list(range(1, len(changes) + 1))
        assert all(change.second != change.by for change in changes)


def test_any_order_of_deeds(office: Office) -> None:
    machine = type("MachineOfOffice", (Machine,), {"office": office})
    run_state_machine_as_test(
        machine,
        settings=settings(
            max_examples=8,
            stateful_step_count=12,
            deadline=None,
            derandomize=True,
            suppress_health_check=list(HealthCheck),
        ),
    )
