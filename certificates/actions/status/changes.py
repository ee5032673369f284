"""Suspending a record, and restoring it: one lead each."""

from django.db import transaction
from django.utils.translation import gettext as _

from certificates.actions.status.guard import add_change, locked, reason_given, require_allowed
from certificates.models import Record, StatusChange, WithdrawalProposal
from training.errors import Refused
from training.models import Person


@transaction.atomic
def suspend_record(
    *, actor: Person, record: Record, reason: str, seen: int | None = None
) -> StatusChange:
    """Suspend ``record``: it does not hold until it is restored.

    Raises PermissionDenied for anybody but a lead of its provider; Refused as ``locked``
    does, for a record that is suspended or withdrawn, and without a reason.
    """
    row = locked(actor, record, seen)
    require_allowed(row, StatusChange.Change.SUSPENDED)
    return add_change(row, StatusChange.Change.SUSPENDED, reason=reason_given(reason), by=actor)


@transaction.atomic
def restore_record(
    *, actor: Person, record: Record, reason: str, seen: int | None = None
) -> StatusChange:
    """Lift the suspension of ``record``.

    Raises as ``suspend_record``; Refused also while a proposal to withdraw it waits, which
    is answered first.
    """
    row = locked(actor, record, seen)
    require_allowed(row, StatusChange.Change.RESTORED)
    if WithdrawalProposal.objects.filter(record=row, answer__isnull=True).exists():
        raise Refused(
            _(
                "A proposal to withdraw this record waits for a second lead. Let it be answered "
                "first; a refusal lifts the suspension that came with it."
            )
        )
    return add_change(row, StatusChange.Change.RESTORED, reason=reason_given(reason), by=actor)
