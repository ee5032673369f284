"""Which panel fixed a program's passing standard, and whether the draft still says so."""

from typing import Any

from django.db.models import QuerySet
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop as N_

from assessments.engine.numbers import exact, number_text
from assessments.models import Adoption, Panel
from assessments.queries.panel.judged import judged_document
from training.digests import digest
from training.models import Program

AT_WORK = (Panel.State.PREPARING, Panel.State.JUDGING, Panel.State.JUDGED)
WHAT_TO_DO = N_("have a new panel judge the criteria as they are now")


def panel_at_work(program: Program) -> Panel | None:
    """Return the panel that is at work on the program, if any: there is at most one."""
    return program.panels.filter(state__in=AT_WORK).first()


def adoption_of(program: Program) -> Adoption | None:
    """Return the adoption of the program's newest adopted panel, with its panel."""
    return adoptions().filter(panel__program=program).order_by("-panel__number").first()


def adoptions() -> QuerySet[Adoption]:
    """Return all adoptions, with their panels."""
    return Adoption.objects.select_related("panel")


def panel_facts(adoption: Adoption) -> dict[str, Any]:
    """Return ``about.panel`` of a standard (engine/FORMATS.md). It names nobody."""
    panel, document = adoption.panel, adoption.document
    return {
        "id": str(panel.pk),
        "number": panel.number,
        "method": panel.method,
        "judges": document["recommendation"]["judges"],
        "rounds": document["recommendation"]["rounds"],
        "recommended_cut": adoption.recommended_cut,
        "standard_error": adoption.standard_error or None,
        "adopted_cut": adoption.adopted_cut,
        "band": adoption.band or None,
        "reason": adoption.reason,
        "digest": adoption.digest,
    }


def panel_faults(program: Program, document: dict[str, Any]) -> list[str]:
    """Return why the draft may not be sealed yet for the sake of its panel: a sentence each.

    ``document`` is the program document. Empty where no panel was ever asked (two queries).
    """
    busy = panel_at_work(program)
    if busy is not None:
        return [
            _(
                "Panel {number} is still at work ({state}): adopt its "
                "recommendation or end it, then seal."
            ).format(number=busy.number, state=busy.get_state_display().lower())
        ]
    adoption = adoption_of(program)
    return [] if adoption is None else list(_changed(adoption, document))


def _changed(adoption: Adoption, document: dict[str, Any]) -> list[str]:
    """Return a sentence for each thing in the draft that is not what was judged or adopted."""
    number, adopted = adoption.panel.number, adoption.document["adoption"]
    if digest(judged_document(document)) != adoption.panel.judged_digest:
        return [
            _(
                "The task or its criteria changed since the judges of panel {number} saw them: "
                "{what_to_do}."
            ).format(number=number, what_to_do=_(WHAT_TO_DO))
        ]
    now, said = as_fixed(document), []
    for name, word in (("cut", _("cut")), ("band", _("band"))):
        if now[name] != adopted[name]:
            said.append(
                _(
                    "The {word} in the draft is not the one adopted of panel {number}: "
                    "{what_to_do}."
                ).format(word=word, number=number, what_to_do=_(WHAT_TO_DO))
            )
    if now["minima"] != adopted["minima"]:
        said.append(
            _(
                "The minima of the outcomes are not those adopted of panel {number}: {what_to_do}."
            ).format(number=number, what_to_do=_(WHAT_TO_DO))
        )
    if now["critical"] != adopted["critical"]:
        said.append(
            _(
                "The critical criteria are not those adopted of panel {number}: {what_to_do}."
            ).format(number=number, what_to_do=_(WHAT_TO_DO))
        )
    return said


def as_fixed(document: dict[str, Any]) -> dict[str, Any]:
    """Return what an adoption fixes of a program document, as a panel document holds it."""
    rule = document["pass_rule"]
    return {
        "cut": _same(rule.get("cut")),
        "band": _same(rule.get("band")),
        "minima": {row["key"]: _same(row["minimum"]) for row in document["outcomes"]},
        "critical": [row["key"] for row in document["task"]["criteria"] if row["critical"]],
    }


def _same(share: str | None) -> str | None:
    """Return an exact share in the one way in which the engine writes it."""
    return None if share is None else number_text(exact(share))
