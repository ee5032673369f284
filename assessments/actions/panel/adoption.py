"""Adopting a panel's recommendation: the step from what judges said to the draft's pass rule."""

from collections.abc import Mapping
from fractions import Fraction
from typing import Any

from django.db import IntegrityError, transaction
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop as N_

from assessments.actions.constraints import violated
from assessments.actions.panel.guards import LONGEST_TEXT, locked_panel, not_too_long
from assessments.engine.canonical import digest
from assessments.engine.numbers import exact, number_text
from assessments.engine.standard import sealing_faults
from assessments.models import Adoption, Criterion, Judge, Judgement, Panel
from assessments.programfile.quantities import read_share
from assessments.programfile.standard import standard_from_program
from assessments.queries.panel.document import panel_document
from assessments.queries.panel.fixed import WHAT_TO_DO, as_fixed
from assessments.queries.panel.judged import judged_digest
from assessments.queries.panel.recommendation import advice_of
from assessments.queries.program_document import program_document
from training.actions.log import write_log
from training.actions.permission import require_lead
from training.actions.state import change_state
from training.errors import Refused
from training.models import Person, Program

MINIMUM = "minimum_"  # the form's field for the minimum of outcome O1 is minimum_O1
ADOPTS: dict[str, set[str]] = {Panel.State.JUDGED: {Panel.State.ADOPTED}}
REFUSALS = {
    "adoption_panel_judged": N_("A recommendation is adopted once the judging is closed."),
    "adoption_not_by_judge": N_("Who judged does not adopt: another training lead does."),
}
FIELDS = {
    "pass_rule.cut": "cut",
    "pass_rule.band": "band",
    "pass_rule.critical": "critical",
    "pass_rule.outcome_minima": None,
}


def adopt(
    *,
    actor: Person,
    panel: Panel,
    cut: str,
    band: str,
    outcome_minima: Mapping[str, str],
    critical: set[str],
    reason: str,
) -> Adoption:
    """Adopt a passing standard after a panel's recommendation, and return the adoption.

    Shares are as people type them (``70 %``, ``2/3``); ``band`` and a minimum may be empty for
    none. ``outcome_minima`` names every outcome of the program, ``critical`` the keys of the
    criteria that must be met whatever the score. The program's pass rule, outcomes and criteria
    are the draft and get what was adopted; what is sealed stays as it is.

    Raises PermissionDenied for anyone but a lead of the provider; Refused, with the field
    (``cut``, ``band``, ``minimum_<key>``, ``critical``, ``reason``), where a share cannot be
    read, the cut differs from the recommendation without a reason, the panel is not judged or
    recommends nothing, the actor judged, the criteria changed since the judges saw them, or the
    draft could not be sealed with it.
    """
    require_lead(actor, panel.program.provider)
    chosen = _chosen(cut, band, outcome_minima, critical)
    why = not_too_long(reason, "reason", LONGEST_TEXT)
    try:
        with transaction.atomic():
            return _adopt(actor, panel, chosen, why)
    except IntegrityError as error:
        message = REFUSALS.get(violated(error))
        if message is None:
            raise
        raise Refused(message) from error


def _adopt(actor: Person, panel: Panel, chosen: dict[str, Any], reason: str) -> Adoption:
    # The same lock as loading and sealing, then the panel's own.
    program = Program.objects.select_for_update(of=("self",)).get(pk=panel.program_id)
    locked = locked_panel(panel)
    _check(actor, locked, program)
    advice = advice_of(locked)
    recommended = advice.cut
    if recommended is None:
        raise Refused(
            _(
                "The panel recommends no cut, so there is nothing to adopt: "
                "{why_no_cut} End this panel with that reason and ask another."
            ).format(why_no_cut=advice.why_no_cut)
        )
    if chosen["cut"] != recommended and not reason:
        raise Refused(
            _(
                "Say why the cut differs from what the panel recommends: "
                "the reason stays with the standard."
            ),
            field="reason",
        )
    _write(program, chosen)
    at = timezone.now()
    said = {
        **chosen,
        "reason": reason,
        "at": at.isoformat(timespec="seconds"),
        "by": actor.full_name,
    }
    document = panel_document(locked, advice, said)
    adoption = Adoption.objects.create(
        panel=locked,
        recommended_cut=recommended,
        standard_error=advice.standard_error or "",
        adopted_cut=chosen["cut"],
        band=chosen["band"] or "",
        reason=reason,
        document=document,
        digest=digest(document),
        adopted_at=at,
        adopted_by=actor,
    )
    change_state(locked, to=Panel.State.ADOPTED, allowed=ADOPTS)
    write_log(
        actor=actor,
        verb="panel.adopted",
        subject=locked,
        data={
            "program": str(program.pk),
            "number": locked.number,
            "recommended_cut": recommended,
            "adopted_cut": chosen["cut"],
            "digest": adoption.digest,
        },
    )
    return adoption


def _check(actor: Person, panel: Panel, program: Program) -> None:
    if panel.state != Panel.State.JUDGED:
        raise Refused(REFUSALS["adoption_panel_judged"])
    seated = Judge.objects.filter(panel=panel, person=actor, state=Judge.State.SEATED)
    spoke = Judgement.objects.filter(round__panel=panel, judge__person=actor)
    if seated.exists() or spoke.exists():
        raise Refused(REFUSALS["adoption_not_by_judge"])
    if judged_digest(program) != panel.judged_digest:
        raise Refused(
            _("The task or its criteria changed since the judges saw them: {what_to_do}.").format(
                what_to_do=_(WHAT_TO_DO)
            )
        )


def _chosen(
    cut: str, band: str, outcome_minima: Mapping[str, str], critical: set[str]
) -> dict[str, Any]:
    """Return {cut, band, minima, critical} as exact text; Refused at the field at fault."""
    shares = {"cut": _share(cut, "cut", required=True), "band": _share(band, "band")}
    cut_share, band_share = Fraction(shares["cut"] or 0), Fraction(shares["band"] or 0)
    if cut_share == 0:
        raise Refused(_("Write a cut above 0 %: with 0 % everybody would meet it."), field="cut")
    if cut_share + band_share > 1:
        raise Refused(
            _(
                "Cut and band come to more than 100 %, so that nobody could be clear of the band: "
                "write a smaller band or a lower cut."
            ),
            field="band",
        )
    return {
        **shares,
        "minima": {key: _share(typed, f"{MINIMUM}{key}") for key, typed in outcome_minima.items()},
        "critical": sorted(critical),
    }


def _share(typed: str, field: str, *, required: bool = False) -> str | None:
    if not typed.strip():
        if required:
            raise Refused(_("Write a percentage such as 70 %."), field=field)
        return None
    try:
        return number_text(exact(read_share(typed)))
    except ValueError as error:
        said = str(error)
        raise Refused(f"{said[0].upper()}{said[1:]}.", field=field) from None


def _write(program: Program, chosen: dict[str, Any]) -> None:
    """Write what was chosen into the draft; Refused where it then could not be sealed."""
    _write_minima(program, chosen["minima"])
    criteria = list(Criterion.objects.filter(task__program=program))
    unknown = set(chosen["critical"]) - {row.key for row in criteria}
    if unknown:
        raise Refused(
            _("The task has no criterion {unknown}: choose of those listed.").format(
                unknown=", ".join(sorted(unknown))
            ),
            field="critical",
        )
    for row in criteria:
        row.critical = row.key in chosen["critical"]
    Criterion.objects.bulk_update(criteria, ["critical"])
    rule = program.pass_rule
    rule.document = {**rule.document, "cut": chosen["cut"], "band": chosen["band"]}
    rule.save(update_fields=["document"])
    document = program_document(program)
    for fault in sealing_faults(standard_from_program(document)):
        said = f"{fault.path}: {fault.message}" if fault.path not in FIELDS else fault.message
        raise Refused(said, field=FIELDS.get(fault.path))
    # In the order of the task, as the draft is compared with it later.
    chosen["critical"] = as_fixed(document)["critical"]


def _write_minima(program: Program, minima: Mapping[str, str | None]) -> None:
    outcomes = list(program.outcomes.all())
    keys = {row.key for row in outcomes}
    if keys != set(minima):
        wrong = ", ".join(sorted(keys ^ set(minima)))
        raise Refused(
            _("Give a minimum, or none, for each outcome of the program: {wrong}.").format(
                wrong=wrong
            )
        )
    for row in outcomes:
        row.minimum = minima[row.key] or ""
    type(outcomes[0]).objects.bulk_update(outcomes, ["minimum"])
