"""Withdrawing a record: one lead proposes, another confirms or declines."""

from django.db import transaction
from django.utils.translation import gettext as _

from certificates.actions.status.guard import (
    add_change,
    last_change,
    locked,
    reason_given,
    require_allowed,
    require_attempt_counts,
)
from certificates.models import Record, StatusChange, WithdrawalAnswer, WithdrawalProposal
from certificates.models.status import LONGEST_REASON
from training.actions.log import write_log
from training.errors import Refused
from training.models import Person

S = StatusChange.Change


@transaction.atomic
def propose_withdrawal(
    *, actor: Person, record: Record, reason: str, suspend: bool, seen: int | None = None
) -> WithdrawalProposal:
    """Propose to withdraw ``record``; with ``suspend`` it does not hold while that waits.

    The holder is told of the suspension, not of the proposal. Raises PermissionDenied for
    anybody but a lead of its provider; Refused as ``locked`` does, for a withdrawn record,
    when another proposal waits, and without a reason.
    """
    row = locked(actor, record, seen)
    require_allowed(row, S.WITHDRAWN)
    if WithdrawalProposal.objects.filter(record=row, answer__isnull=True).exists():
        raise Refused(_("A proposal to withdraw this record waits already for a second lead."))
    proposal = WithdrawalProposal.objects.create(record=row, reason=reason_given(reason), by=actor)
    write_log(
        actor=actor,
        verb="record.withdrawal_proposed",
        subject=row,
        data={"number": row.number, "proposal": proposal.pk, "reason": proposal.reason},
    )
    if suspend and last_change(row) != S.SUSPENDED:
        add_change(row, S.SUSPENDED, reason=proposal.reason, by=actor, proposal=proposal)
    return proposal


@transaction.atomic
def confirm_withdrawal(
    *, actor: Person, proposal: WithdrawalProposal, note: str = "", seen: int | None = None
) -> StatusChange:
    """Withdraw the record for good, as a second lead.

    Raises PermissionDenied for anybody but a lead of its provider; Refused as ``locked``
    does, for the proposer, and for a proposal that was answered.
    """
    row = _answerable(actor, proposal, seen)
    require_allowed(row, S.WITHDRAWN)
    note = " ".join(note.split())
    if len(note) > LONGEST_REASON:
        raise Refused(
            _("This has {count} characters: {most} at most.").format(
                count=len(note), most=LONGEST_REASON
            ),
            field="note",
        )
    WithdrawalAnswer.objects.create(proposal=proposal, confirmed=True, note=note, by=actor)
    return add_change(
        row,
        S.WITHDRAWN,
        reason=proposal.reason,
        by=proposal.by,
        second=actor,
        proposal=proposal,
    )


@transaction.atomic
def decline_withdrawal(
    *, actor: Person, proposal: WithdrawalProposal, note: str, seen: int | None = None
) -> WithdrawalAnswer:
    """Decline the proposal, saying why; a suspension that came with it is lifted.

    Raises as ``confirm_withdrawal``; Refused also without a note, and when the attempt is void.
    """
    row = _answerable(actor, proposal, seen)
    require_attempt_counts(row)
    answer = WithdrawalAnswer.objects.create(
        proposal=proposal, confirmed=False, note=reason_given(note, "note"), by=actor
    )
    write_log(
        actor=actor,
        verb="record.withdrawal_declined",
        subject=row,
        data={"number": row.number, "proposal": proposal.pk, "note": answer.note},
    )
    last = row.status_changes.order_by("-number").first()
    if last is not None and last.change == S.SUSPENDED and last.proposal_id == proposal.pk:
        add_change(row, S.RESTORED, reason=answer.note, by=actor, proposal=proposal)
    return answer


def _answerable(actor: Person, proposal: WithdrawalProposal, seen: int | None) -> Record:
    row = locked(actor, proposal.record, seen)
    if proposal.by_id == actor.pk:
        raise Refused(_("You proposed this: another lead of the provider confirms or declines it."))
    if WithdrawalAnswer.objects.filter(proposal=proposal).exists():
        raise Refused(_("This proposal was answered already."))
    return row
