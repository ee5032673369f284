"""Ending an employment: by the contractor's manager, or by the person."""

from datetime import date, timedelta

from django.core.exceptions import PermissionDenied
from django.db import transaction
from django.utils import timezone
from django.utils.translation import gettext as _

from training.actions.employment import require_manager
from training.actions.employment_notify import tell_ended, tell_left
from training.actions.log import write_log
from training.dates import day_text
from training.errors import Refused
from training.models import Employment, Person

AHEAD = timedelta(days=366)


@transaction.atomic
def end_employment(*, actor: Person, employment: Employment, until: date | None) -> None:
    """End it after the day ``until``; the crew's managers see the records up to that day.

    ``until`` None is for one that has not begun: it will not. Raises PermissionDenied unless
    ``actor`` manages that crew; Refused, at ``until``, for a day before the first or more than
    a year ahead, and for one that is no earlier than the end known already.
    """
    require_manager(actor, employment.organisation)
    row = _end(actor, employment, until)
    tell_ended(row)


@transaction.atomic
def leave_employer(*, actor: Person, employment: Employment, until: date | None) -> None:
    """End the own employment after the day ``until``; raises as ``end_employment`` does."""
    if employment.person_id != actor.pk:
        raise PermissionDenied(_("Only the person employed may do this."))
    row = _end(actor, employment, until)
    tell_left(row)


def _end(actor: Person, employment: Employment, until: date | None) -> Employment:
    Person.objects.select_for_update(no_key=True).get(pk=employment.person_id)
    row = (
        Employment.objects.select_related("organisation", "person").filter(pk=employment.pk).first()
    )
    if row is None:
        raise Refused(_("This employment was called off meanwhile: nothing is left to end."))
    data = {
        "person": row.person_id,
        "organisation": row.organisation_id,
        "since": row.since.isoformat(),
        "until": until.isoformat() if until else None,
    }
    if until is None:
        if row.since <= timezone.localdate():
            raise Refused(_("It has begun: write its last day."), field="until")
        row.delete()
        row.pk = employment.pk  # the log names it
        row.until = None
    else:
        _require_fit(row, until)
        row.until = until
        row.save(update_fields=["until"])
    write_log(actor=actor, verb="employment.ended", subject=row, data=data)
    return row


def _require_fit(row: Employment, until: date) -> None:
    today = timezone.localdate()
    if row.until is not None and row.until < today:
        raise Refused(
            _("This employment ended on {until}.").format(until=day_text(row.until)), field="until"
        )
    if until < row.since:
        raise Refused(
            _("The employment begins on {since}: write that day or a later one.").format(
                since=day_text(row.since)
            ),
            field="until",
        )
    if row.until is not None and until >= row.until:
        raise Refused(
            _(
                "It ends on {until} already: write an earlier day. A longer one needs a new offer."
            ).format(until=day_text(row.until)),
            field="until",
        )
    if until > today + AHEAD:
        raise Refused(
            _("Write {day} or an earlier day.").format(day=day_text(today + AHEAD)),
            field="until",
        )
