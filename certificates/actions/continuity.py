"""Confirming that a holder kept doing the work, and taking a confirmation back."""

from collections.abc import Mapping, Sequence
from datetime import date
from uuid import UUID

from django.core.exceptions import PermissionDenied
from django.db import IntegrityError, transaction
from django.utils.translation import gettext as _

from certificates.actions.continuity_guard import Fit, fit_to_confirm, named
from certificates.actions.status.guard import reason_given
from certificates.models import Confirmation, Project, Record, Retraction
from training.actions.employment import require_manager
from training.actions.log import write_log
from training.errors import Refused
from training.models import Person
from training.queries.scope import contractor_organisations


class RowsRefused(Exception):  # noqa: N818 (a refusal is no fault of the program)
    """Some of many confirmations were refused, and nothing was signed.

    ``errors`` has the sentence of each record at fault; ``field`` of it is not kept, since the
    same day and project stand for all.
    """

    def __init__(self, errors: Mapping[UUID, str]) -> None:
        super().__init__("; ".join(errors.values()))
        self.errors = errors


@transaction.atomic
def confirm_work(
    *,
    actor: Person,
    record: Record,
    worked_on: date,
    project: Project | None = None,
    project_name: str = "",
    work: str = "",
) -> Confirmation:
    """Sign that the holder did work within the range of ``record`` on ``worked_on``.

    ``project`` is one of the own contractor's; without it ``project_name`` says where.
    Raises PermissionDenied unless ``actor`` manages the crew that the holder is on today, and
    Refused, at the field, as ``fit_to_confirm`` and ``named`` say.
    """
    fit = fit_to_confirm(actor, _locked(record), worked_on)
    return _sign(actor, fit, worked_on, project, project_name, work)


@transaction.atomic
def confirm_many(
    *,
    actor: Person,
    records: Sequence[Record],
    worked_on: date,
    project: Project | None = None,
    project_name: str = "",
    work: str = "",
) -> list[Confirmation]:
    """Sign the same for several records: all of them, or none.

    Raises PermissionDenied for anybody but a contractor's manager, Refused where no record is
    given or the project is not named, and RowsRefused with the sentence of each record that
    ``confirm_work`` would refuse.
    """
    if not contractor_organisations(actor).exists():
        raise PermissionDenied(_("Only a contractor's manager confirms work."))
    if not records:
        raise Refused(_("Tick at least one record."))
    fits: list[Fit] = []
    errors: dict[UUID, str] = {}
    # In the order of their keys, so that two managers at once wait for each other in turn.
    for record in sorted(records, key=lambda each: each.pk):
        try:
            fit = fit_to_confirm(actor, _locked(record), worked_on)
            named(fit.organisation, project, project_name)
        except Refused as refused:
            if refused.field in ("project", "project_name"):
                raise
            errors[record.pk] = refused.message
        except PermissionDenied as denied:
            errors[record.pk] = str(denied)
        else:
            fits.append(fit)
    if errors:
        raise RowsRefused(errors)
    return [_sign(actor, fit, worked_on, project, project_name, work) for fit in fits]


@transaction.atomic
def retract_confirmation(*, actor: Person, confirmation: Confirmation, reason: str) -> Retraction:
    """Take a confirmation back: from then on it never counted; the reason stays with it.

    Raises PermissionDenied unless ``actor`` manages the contractor that signed it, Refused
    without a reason and for one taken back already.
    """
    require_manager(actor, confirmation.organisation)
    given = reason_given(reason)
    try:
        with transaction.atomic():
            retraction = Retraction.objects.create(
                confirmation=confirmation, reason=given, by=actor
            )
    except IntegrityError:
        raise Refused(_("This confirmation was taken back already.")) from None
    write_log(
        actor=actor,
        verb="confirmation.retracted",
        subject=confirmation,
        data={"record": confirmation.record.number, "reason": given},
    )
    return retraction


def _locked(record: Record) -> Record:
    """Return the row, locked: two managers at once do not sign the same day twice."""
    return (
        Record.objects.select_for_update(no_key=True, of=("self",))
        .select_related("holder", "provider", "decision__attempt__enrolment__run__site")
        .get(pk=record.pk)
    )


def _sign(
    actor: Person,
    fit: Fit,
    worked_on: date,
    project: Project | None,
    project_name: str,
    work: str,
) -> Confirmation:
    confirmation = Confirmation.objects.create(
        attempt=fit.record.decision.attempt,
        record=fit.record,
        organisation=fit.organisation,
        project=project,
        project_name=named(fit.organisation, project, project_name),
        work=" ".join(work.split()),
        worked_on=worked_on,
        signed_on=fit.today,
        signed_by=actor,
    )
    write_log(
        actor=actor,
        verb="work.confirmed",
        subject=confirmation,
        data={
            "record": fit.record.number,
            "organisation": fit.organisation.pk,
            "project": confirmation.project_name,
            "worked_on": worked_on.isoformat(),
        },
    )
    return confirmation
