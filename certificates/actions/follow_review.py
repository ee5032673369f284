"""What becomes of a record when the decision behind it was looked at again.

A new decision withdraws the record of the old one by itself (``queries/standing.py``); what is
written here is what has to be done besides.
"""

from django.db import transaction
from django.utils.translation import gettext as _

from assessments.models import Attempt, Decision, Review
from assessments.reviewed import on_review
from certificates.actions.issue_run import put_in_queue
from certificates.actions.status.guard import add_change, last_change
from certificates.models import Record, StatusChange, WithdrawalProposal
from certificates.models.status import LONGEST_REASON
from training.actions.log import write_log
from training.letters import address, send_letter
from training.models import Person

MET = Decision.Result.MET
S = StatusChange.Change
# Kept with the record, so it does not depend on who reads.
VOID = "A review made the attempt void: {}"


@on_review
@transaction.atomic
def follow_review(review: Review, actor: Person) -> None:
    """Let the record follow the outcome of ``review``, inside the transaction of the answer.

    Upheld: nothing. The attempt void: the record is suspended, and ``actor`` proposes its
    withdrawal for a lead to confirm. Changed so that the standard is met no longer: the record
    stopped holding with the new decision; the holder is told. Changed and still met: a record of
    the new decision is queued in place of one that held. Now met: leads find it to be issued.
    """
    record = _record_of(review.decision)
    if record is None or review.outcome == Review.Outcome.UPHELD:
        return
    if review.outcome == Review.Outcome.VOID:
        _propose(record, review, actor)
    elif review.result is not None and review.result.result != MET:
        _withdrawn(record, review, actor)
    elif review.result is not None and _held(record):
        run = Attempt.objects.get(pk=review.attempt_id).enrolment.run
        put_in_queue(actor=actor, run=run, decisions=[review.result])


def _record_of(decision: Decision) -> Record | None:
    """Return the record of the decision that nothing took the place of, locked."""
    rows = Record.objects.select_for_update(no_key=True, of=("self",))
    return rows.filter(decision=decision, replaced_by__isnull=True).first()


def _held(record: Record) -> bool:
    """Say whether nothing but the new decision stands against the record."""
    waits = record.proposals.filter(answer__isnull=True).exists()
    return not waits and last_change(record) not in (S.SUSPENDED, S.WITHDRAWN)


def _propose(record: Record, review: Review, actor: Person) -> None:
    last = last_change(record)
    if last == S.WITHDRAWN:
        return
    reason = VOID.format(" ".join(review.answer.split()))
    if len(reason) > LONGEST_REASON:
        reason = f"{reason[: LONGEST_REASON - 1]}…"
    proposal = WithdrawalProposal.objects.filter(record=record, answer__isnull=True).first()
    if proposal is None:
        proposal = WithdrawalProposal.objects.create(record=record, reason=reason, by=actor)
        write_log(
            actor=actor,
            verb="record.withdrawal_proposed",
            subject=record,
            data={
                "number": record.number,
                "proposal": proposal.pk,
                "reason": reason,
                "review": str(review.pk),
            },
        )
    if last != S.SUSPENDED:
        add_change(record, S.SUSPENDED, reason=reason, by=actor, proposal=proposal)


def _withdrawn(record: Record, review: Review, actor: Person) -> None:
    if last_change(record) == S.WITHDRAWN:
        return
    write_log(
        actor=actor,
        verb="record.decided_anew",
        subject=record,
        data={"number": record.number, "review": str(review.pk)},
    )
    program = record.document["program"]
    send_letter(
        record.holder,
        subject=lambda: _("Your record is withdrawn: {title}").format(title=program["title"]),
        template="certificates/email/record_decided_anew.txt",
        context={
            "number": record.number,
            "program": program,
            "provider": record.provider,
            "record_url": address("record", number=record.number),
            "attempt_url": address("attempt", pk=review.attempt_id),
        },
    )
