"""What a program asks of its assessors, and who may sign off."""

from fractions import Fraction
from typing import Any

from django.db import transaction
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop as N_

from assessments.engine.errors import EngineError
from assessments.engine.numbers import exact as exact_number
from assessments.engine.numbers import number_text, tidy
from assessments.models import AssessorRequirement, Authorisation
from assessments.queries.calibration.authority import may_sign, requirement_of
from assessments.queries.calibration.scope import programs_assessed_by
from assessments.queries.calibration.standing import (
    Standing,
    compared,
    finished_sittings,
    standing,
)
from training.actions.log import write_log
from training.actions.permission import require_lead
from training.dates import day_text
from training.errors import Refused
from training.models import Person, Program

MOST_PIECES = 50
MOST_MONTHS = 120
LONGEST_REASON = 1000
SHARE = N_("Write a number from 0 to 1 as a decimal or a fraction, such as 0.8 or 4/5.")


@transaction.atomic
def set_requirement(
    *, actor: Person, program: Program, pieces: int, months: int, exact: str, bias: str
) -> AssessorRequirement:
    """Set what an assessor must reach to sign off under the program; the newest counts.

    ``exact`` is the least share scored exactly as agreed, ``bias`` the largest mean difference
    either way; both exact text from 0 to 1. Raises PermissionDenied for anyone but a lead of
    the provider, Refused at the field at fault.
    """
    require_lead(actor, program.provider)
    _whole("pieces", pieces, MOST_PIECES)
    _whole("months", months, MOST_MONTHS)
    requirement = AssessorRequirement.objects.create(
        program=program,
        pieces=pieces,
        months=months,
        exact=_share("exact", exact),
        bias=_share("bias", bias),
        set_by=actor,
    )
    asked = {"program": str(program.pk), **_asked(requirement)}
    write_log(actor=actor, verb="requirement.set", subject=requirement, data=asked)
    return requirement


@transaction.atomic
def authorise(*, actor: Person, program: Program, assessor: Person) -> Authorisation:
    """Let ``assessor`` sign off under the program until the figures behind it run out.

    The last day is that of the sitting with which the number asked for is complete, counted
    from the newest, the months asked for later. Raises PermissionDenied for anyone but a lead of
    the provider; Refused for oneself, without a requirement, for who does not assess the
    program, where something is not reached (saying what, by how much), and where the same
    authority stands already.
    """
    require_lead(actor, program.provider)
    if actor == assessor:
        raise Refused(_("Nobody authorises the own self: ask another lead of the provider."))
    # One at a time for a program: the newest word is the one that counts.
    locked = Program.objects.select_for_update(of=("self",)).get(pk=program.pk)
    requirement = requirement_of(locked)
    if requirement is None:
        raise Refused(_("Set first what the program asks of its assessors."))
    if not programs_assessed_by(assessor).order_by().filter(pk=locked.pk).exists():
        raise Refused(
            _("{assessor} neither leads nor teaches this program.").format(assessor=assessor)
        )
    sat = [compared(sitting) for sitting in finished_sittings([locked], assessor)]
    found = standing(requirement, sat)
    if found.missing:
        raise Refused(
            _("{assessor} cannot be authorised yet. {missing}").format(
                assessor=assessor, missing=" ".join(found.missing)
            )
        )
    newest = _newest(locked, assessor)
    if newest is not None and newest.granted and newest.until == found.until:
        raise Refused(
            _("{assessor} is authorised already, until {until}.").format(
                assessor=assessor, until=day_text(found.until)
            )
        )
    given = Authorisation.objects.create(
        program=locked,
        assessor=assessor,
        granted=True,
        figures=_figures(requirement, found),
        until=found.until,
        by=actor,
    )
    data = {**_about(given), "until": str(given.until), "figures": given.figures}
    write_log(actor=actor, verb="authority.given", subject=given, data=data)
    return given


@transaction.atomic
def withdraw_authority(
    *, actor: Person, program: Program, assessor: Person, reason: str
) -> Authorisation:
    """Take the authority to sign off from ``assessor``, at once; scoring stays possible.

    Raises PermissionDenied for anyone but a lead of the provider; Refused at ``reason`` without
    one, for oneself, and where there is no authority to take.
    """
    require_lead(actor, program.provider)
    if actor == assessor:
        raise Refused(_("Nobody decides on the own authority: ask another lead of the provider."))
    text = reason.strip()
    if not text:
        raise Refused(_("Write why. The assessor reads it."), field="reason")
    if len(text) > LONGEST_REASON:
        raise Refused(
            _("The reason has {text_count} characters: keep it to {longest_reason}.").format(
                text_count=len(text), longest_reason=LONGEST_REASON
            ),
            field="reason",
        )
    locked = Program.objects.select_for_update(of=("self",)).get(pk=program.pk)
    if not may_sign(_newest(locked, assessor), timezone.localdate()):
        raise Refused(
            _("{assessor} has no authority to sign off under this program now.").format(
                assessor=assessor
            )
        )
    taken = Authorisation.objects.create(
        program=locked, assessor=assessor, granted=False, reason=text, by=actor
    )
    data = {**_about(taken), "reason": text}
    write_log(actor=actor, verb="authority.withdrawn", subject=taken, data=data)
    return taken


def _newest(program: Program, assessor: Person) -> Authorisation | None:
    rows = Authorisation.objects.filter(program=program, assessor=assessor)
    return rows.order_by("-at", "-id").first()


def _whole(field: str, number: int, most: int) -> None:
    if not 1 <= number <= most:
        raise Refused(_("Write a whole number from 1 to {most}.").format(most=most), field=field)


def _share(field: str, text: str) -> str:
    try:
        value = exact_number(text.strip())
    except EngineError:
        raise Refused(SHARE, field=field) from None
    if not 0 <= value <= 1:
        raise Refused(SHARE, field=field)
    return number_text(value)


def _asked(requirement: AssessorRequirement) -> dict[str, Any]:
    return {name: getattr(requirement, name) for name in ("pieces", "months", "exact", "bias")}


def _figures(requirement: AssessorRequirement, found: Standing) -> dict[str, Any]:
    """Return what was reached, as plain data."""
    bias = found.tally.bias
    assert bias is not None
    return {
        "asked": _asked(requirement),
        "pieces": len(found.counted),
        "criteria": found.tally.criteria,
        "same": found.tally.same,
        "exact": number_text(tidy(found.tally.share or Fraction(0))),
        "bias": number_text(tidy(bias)),
        "sittings": [str(each.sitting.pk) for each in found.counted],
    }


def _about(row: Authorisation) -> dict[str, Any]:
    return {"program": str(row.program_id), "assessor": str(row.assessor_id)}
