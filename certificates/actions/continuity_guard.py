"""What a confirmation asks before it is signed: who, for which record, for which day."""

from dataclasses import dataclass
from datetime import date

from django.core.exceptions import PermissionDenied
from django.db.models import Q
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop as N_

from assessments.engine.qualification import BROKEN, Kept
from certificates.models import Confirmation, Project, Record
from certificates.queries.continuity import Chain, chain_of
from certificates.queries.standing import (
    DOUBTFUL,
    LAPSED,
    NOT_ISSUED,
    REPLACED,
    SUSPENDED,
    WITHDRAWN,
    Standing,
    standing_of,
    with_standing,
)
from certificates.wording import short_day
from training.errors import Refused
from training.models import Employment, Organisation, Person
from training.queries.scope import employments_of_crew

LONGEST_PROJECT = 200
STANDING = {
    SUSPENDED: N_("suspended"),
    WITHDRAWN: N_("withdrawn"),
    DOUBTFUL: N_("doubtful"),
    NOT_ISSUED: N_("not issued"),
}


@dataclass(frozen=True)
class Fit:
    """A record that may be confirmed by ``organisation``; ``today`` is the day at its site."""

    record: Record
    organisation: Organisation
    today: date
    chain: Chain


def employer_today(actor: Person, record: Record) -> Organisation:
    """Return the contractor of ``actor`` that employs the holder today.

    Raises PermissionDenied where there is none.
    """
    employment = (
        employments_of_crew(actor)
        .filter(person=record.holder_id)
        .select_related("organisation")
        .order_by("-since")
        .first()
    )
    if employment is None:
        raise PermissionDenied(
            _("Only a manager of the contractor that employs the holder today confirms the work.")
        )
    return employment.organisation


def fit_to_confirm(actor: Person, record: Record, worked_on: date) -> Fit:
    """Return what is needed to sign, or raise.

    PermissionDenied as ``employer_today``. Refused for the own work; for a record that does
    not stand, asks for no confirmation, or whose chain is broken; at ``worked_on`` for a day
    in the future at the record's site, before the record, outside the employment, too late
    for the chain, or confirmed already.
    """
    organisation = employer_today(actor, record)
    if record.holder_id == actor.pk:
        raise Refused(
            _(
                "Nobody confirms the own work: ask another manager of {organisation}. If there is "
                "none, a training lead can give somebody the role."
            ).format(organisation=organisation)
        )
    _require_standing(record)
    chain = chain_of(record)
    if chain.rules is None or chain.rules.continuity is None:
        raise Refused(_("The program of this record asks for no confirmations: none is needed."))
    kept = chain.kept()
    _require_unbroken(record, kept)
    _require_day(record, chain, kept, worked_on)
    _require_own(record, organisation, worked_on)
    return Fit(record, organisation, chain.today, chain)


def named(organisation: Organisation, project: Project | None, project_name: str) -> str:
    """Return what the work is called: the project's name, or what was typed.

    Raises PermissionDenied for a project of another contractor; Refused, at ``project_name``,
    where nothing or both is given, or the name is too long.
    """
    typed = " ".join(project_name.split())
    if project is None:
        if not typed:
            raise Refused(_("Choose a project, or write where the work was."), field="project_name")
        if len(typed) > LONGEST_PROJECT:
            raise Refused(
                _("This has {number} characters: {most} at most.").format(
                    number=len(typed), most=LONGEST_PROJECT
                ),
                field="project_name",
            )
        return typed
    if project.contractor_id != organisation.pk:
        raise Refused(
            _("This is not a project of {organisation}: choose another one.").format(
                organisation=organisation
            ),
            field="project",
        )
    if typed and typed != project.name:
        raise Refused(
            _("A project is chosen as well: keep one of the two, and empty the other."),
            field="project_name",
        )
    return project.name


def _require_standing(record: Record) -> None:
    row = with_standing(Record.objects.filter(pk=record.pk)).get()
    standing = standing_of(row)
    if not standing.counts:
        raise Refused(_why_not(record, standing))


def _why_not(record: Record, standing: Standing) -> str:
    if standing.word == LAPSED:
        return _(
            "This record lapsed: its last day was {day}. No confirmation mends this: the holder "
            "needs a new record: ask {provider} for a renewal or a new assessment."
        ).format(day=short_day(standing.valid_until), provider=record.provider)
    if standing.word == REPLACED:
        return _("Record {replaced_by} took the place of this one: confirm that one.").format(
            replaced_by=standing.replaced_by
        )
    return _(
        "This record is {standing}, so nothing can be confirmed for it now. Ask {provider}."
    ).format(standing=_(STANDING[standing.word]), provider=record.provider)


def _require_unbroken(record: Record, kept: Kept) -> None:
    if kept.word == BROKEN:
        raise Refused(
            _(
                "This comes too late: work up to {due} had to be confirmed by {until}, so the "
                "record counts no longer since {broken}. No confirmation mends this: the holder "
                "needs a new record: ask {provider} for a renewal or a new assessment."
            ).format(
                due=short_day(kept.due),
                until=short_day(kept.counts_until),
                broken=short_day(kept.broken_on),
                provider=record.provider,
            )
        )


def _require_day(record: Record, chain: Chain, kept: Kept, worked_on: date) -> None:
    if worked_on > chain.today:
        raise Refused(
            _(
                "This day is in the future: at the record's site ({zone}) it is {today}. "
                "Confirm work once it is done."
            ).format(zone=chain.zone, today=short_day(chain.today)),
            field="worked_on",
        )
    if worked_on < chain.start:
        raise Refused(
            _("The record began on {day}: write that day or a later one.").format(
                day=short_day(chain.start)
            ),
            field="worked_on",
        )
    if kept.due is not None and worked_on > kept.due:
        raise Refused(
            _(
                "Confirm work done on {due} or before: that was the last day due, and later work "
                "does not carry the record on. It can be signed until {until}. Without such work, "
                "it ends then, and the holder needs a new record: ask {provider} for a renewal "
                "or a new assessment."
            ).format(
                due=short_day(kept.due),
                until=short_day(kept.counts_until),
                provider=record.provider,
            ),
            field="worked_on",
        )


def _require_own(record: Record, organisation: Organisation, worked_on: date) -> None:
    employed = Employment.objects.filter(
        Q(until=None) | Q(until__gte=worked_on),
        person=record.holder_id,
        organisation=organisation,
        since__lte=worked_on,
    )
    if not employed.exists():
        raise Refused(
            _(
                "{holder} was not employed by {organisation} on this day: write a day within "
                "the employment."
            ).format(holder=record.holder, organisation=organisation),
            field="worked_on",
        )
    again = Confirmation.objects.filter(
        attempt=record.decision.attempt_id,
        organisation=organisation,
        worked_on=worked_on,
        retraction=None,
    )
    if again.exists():
        raise Refused(
            _("{organisation} confirmed this day already: write another day.").format(
                organisation=organisation
            ),
            field="worked_on",
        )
