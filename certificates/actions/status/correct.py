"""Correcting the holder's name: a new record takes the place of the old one."""

from django.db import transaction
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop as N_

from certificates.actions.issue import Instead, issue_record
from certificates.actions.status.guard import last_change, locked, reason_given
from certificates.models import Record, StatusChange
from training.actions.log import write_log
from training.actions.names import correct_name
from training.errors import Refused
from training.models import Person
from training.names import clean_name

FIRST = {
    StatusChange.Change.SUSPENDED: N_(
        "This record is suspended: restore it first, then correct it."
    ),
    StatusChange.Change.WITHDRAWN: N_("This record is withdrawn: it cannot be corrected any more."),
}
WAITS = N_("A proposal to withdraw this record waits for its answer: let it be answered first.")


def correct_record(
    *,
    actor: Person,
    record: Record,
    holder_name: str,
    reason: str,
    account: bool,
    seen: int | None = None,
) -> Record:
    """Issue a record with the right name in place of ``record``, valid to the same day.

    With ``account`` the person's own name is corrected as well, so that it is right on the next
    record too; without it the name is that of this record alone (a name borne at the time, say).
    The log keeps both names and the reason. Runs in a transaction of its own.

    Raises PermissionDenied for anybody but a lead of the provider; Refused as ``locked`` does,
    for a record that is suspended, withdrawn or proposed for it, for the same name or one that
    cannot be a name, without a reason, and as ``issue_record`` does.
    """
    try:
        name = clean_name(holder_name)
    except ValueError as error:
        raise Refused(str(error), field="holder_name") from None
    why = reason_given(reason)
    before = record.document["holder"]["name"]
    if name == before:
        raise Refused(_("This is the name on the record already."), field="holder_name")

    def guard() -> None:
        row = locked(actor, record, seen)
        last = last_change(row)
        if last in FIRST:
            raise Refused(FIRST[StatusChange.Change(last)])
        if row.proposals.filter(answer__isnull=True).exists():
            raise Refused(WAITS)

    def also(made: Record) -> None:
        if account and made.holder.full_name != name:
            correct_name(actor=actor, person=made.holder, full_name=name)
        write_log(
            actor=actor,
            verb="record.corrected",
            subject=record,
            data={
                "number": record.number,
                "by": made.number,
                "name_before": before,
                "name_after": name,
                "reason": why,
            },
        )

    # Once before anything is rendered, once more when nobody else can act on it.
    with transaction.atomic():
        guard()
    return issue_record(
        actor=actor, decision=record.decision, instead=Instead(record, name, guard, also)
    )
