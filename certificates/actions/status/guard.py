"""What every change of a record's status asks first, and how one is written."""

from functools import partial

from django.db import transaction
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop as N_

from assessments.models import Attempt, Decision
from certificates.actions.status.notify import tell_change
from certificates.models import Record, StatusChange, WithdrawalProposal
from certificates.models.status import LONGEST_REASON, SHORTEST_REASON
from certificates.stored import ERASED, is_erased
from training.actions.log import write_log
from training.actions.permission import require_lead
from training.errors import Refused
from training.models import Person

S = StatusChange.Change
# What may follow what; a record nobody changed is under "".
ALLOWED: dict[str, frozenset[str]] = {
    "": frozenset({S.SUSPENDED, S.WITHDRAWN}),
    S.SUSPENDED: frozenset({S.RESTORED, S.WITHDRAWN}),
    S.RESTORED: frozenset({S.SUSPENDED, S.WITHDRAWN}),
    S.WITHDRAWN: frozenset(),
}
REFUSED = {
    S.SUSPENDED: N_("This record is suspended already."),
    S.RESTORED: N_("This record is not suspended, so there is nothing to restore."),
    S.WITHDRAWN: N_("This record is withdrawn already."),
}
AFTER_WITHDRAWAL = N_("This record is withdrawn: nothing can be done to it any more.")
VOID = N_(
    "A review made the attempt behind this record void, so it cannot hold again: confirm the "
    "withdrawal."
)
MEANWHILE = N_(
    "Somebody else acted on this record meanwhile, so nothing was done. Read below what "
    "happened, then decide again."
)


def steps_of(record: Record) -> int:
    """Return how many changes, proposals and answers the record has (two queries)."""
    proposals = record.proposals.values_list("answer", flat=True)
    return record.status_changes.count() + sum(1 + (answer is not None) for answer in proposals)


def locked(actor: Person, record: Record, seen: int | None = None) -> Record:
    """Return the row of ``record``, locked until the transaction ends, for ``actor`` to act on.

    ``seen`` is ``steps_of`` when the actor looked; None asks nothing. Raises PermissionDenied
    unless ``actor`` leads the provider; Refused for the own record, for one that another
    took the place of or whose decision was made anew, and when somebody was faster.
    """
    require_lead(actor, record.provider)
    rows = Record.objects.select_related("provider", "holder")
    row = rows.select_for_update(no_key=True, of=("self",)).get(pk=record.pk)
    if row.holder_id == actor.pk:
        raise Refused(
            _("Nobody acts on the own record: ask another lead of {provider}.").format(
                provider=row.provider
            )
        )
    if is_erased(row):
        raise Refused(ERASED)
    if seen is not None and seen != steps_of(row):
        raise Refused(MEANWHILE)
    successor = Record.objects.filter(replaces=row).first()
    if successor is not None:
        raise Refused(
            _("Record {number} took the place of this one: act on that one.").format(
                number=successor.number
            )
        )
    if Decision.objects.filter(replaces=row.decision_id).exists():
        raise Refused(_("The decision behind this record was made anew: it holds no longer."))
    return row


def last_change(record: Record) -> str:
    """Return the word of the latest change; "" when there is none."""
    last = record.status_changes.order_by("-number").first()
    return last.change if last else ""


def require_allowed(record: Record, to: str) -> None:
    """Raise Refused unless the change ``to`` may follow what happened so far."""
    if to == S.RESTORED:
        require_attempt_counts(record)
    last = last_change(record)
    if to not in ALLOWED[last]:
        raise Refused(AFTER_WITHDRAWAL if last == S.WITHDRAWN and to != last else REFUSED[S(to)])


def require_attempt_counts(record: Record) -> None:
    """Raise Refused where the attempt behind the record is void: it cannot hold again."""
    if record.decision.attempt.state == Attempt.State.VOID:
        raise Refused(VOID)


def reason_given(typed: str, field: str = "reason") -> str:
    """Return the reason as it is kept; raise Refused for one too short or too long."""
    reason = " ".join(typed.split())
    if len(reason) < SHORTEST_REASON:
        raise Refused(
            _("Write why, in {count} characters or more: it stays with the record.").format(
                count=SHORTEST_REASON
            ),
            field=field,
        )
    if len(reason) > LONGEST_REASON:
        raise Refused(
            _("This has {count} characters: {most} at most.").format(
                count=len(reason), most=LONGEST_REASON
            ),
            field=field,
        )
    return reason


def add_change(
    record: Record,
    to: str,
    *,
    reason: str,
    by: Person,
    second: Person | None = None,
    proposal: WithdrawalProposal | None = None,
) -> StatusChange:
    """Save and return the next change of the locked ``record``; log it, and tell the holder."""
    last = record.status_changes.order_by("-number").first()
    change = StatusChange.objects.create(
        record=record,
        number=last.number + 1 if last else 1,
        change=to,
        reason=reason,
        by=by,
        second=second,
        proposal=proposal,
    )
    write_log(
        actor=second or by,
        verb=f"record.{change.change}",
        subject=record,
        data={
            "number": record.number,
            "change": change.number,
            "reason": reason,
            "proposed_by": proposal.by_id if proposal else None,
        },
    )
    transaction.on_commit(partial(tell_change, change), robust=True)
    return change
