"""What a panel recommends, and adopting it."""

import uuid
from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_safe

from assessments.actions.panel.adoption import MINIMUM, adopt
from assessments.evidence.judging import when_to_use
from assessments.evidence.results import section_document
from assessments.forms.panel.adoption import AdoptForm
from assessments.models import Panel
from assessments.programfile.quantities import read_share, write_share
from assessments.queries.panel.passing import passing_rates
from assessments.queries.panel.recommendation import Advice, advice_of
from assessments.queries.panel.scope import panels_visible_to
from assessments.queries.program_document import program_document
from training.models import Person
from training.views.refusals import act
from training.views.who import person_of


def visible_panel(person: Person, pk: uuid.UUID) -> Panel:
    """Return a panel that ``person`` leads, with its program; Http404 for anybody else."""
    found = panels_visible_to(person).select_related("program__provider", "made_by", "adoption")
    return get_object_or_404(found, pk=pk)


@require_safe
def panel_recommendation(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    """Show what the last closed round comes to, when the method is of use, the sense check."""
    panel = visible_panel(person_of(request), pk)
    advice = advice_of(panel)
    return render(
        request,
        "assessments/panel/recommendation.html",
        {
            "panel": panel,
            "program": panel.program,
            "advice": advice,
            "sections": [section_document(section) for section in advice.sections],
            "when": when_to_use(panel.method),
            "may_adopt": panel.state == Panel.State.JUDGED and advice.cut is not None,
        },
    )


@require_http_methods(["GET", "HEAD", "POST"])
def panel_adopt(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    """Adopt a passing standard after the recommendation, or say at which field it cannot be."""
    person = person_of(request)
    panel = visible_panel(person, pk)
    if panel.state != Panel.State.JUDGED:
        messages.info(
            request,
            _(
                "This panel is {state}: "
                "a recommendation is adopted once, when the judging is closed."
            ).format(state=panel.get_state_display().lower()),
        )
        return redirect("panel_recommendation", panel.pk)
    document = program_document(panel.program)
    if request.method != "POST":
        advice = advice_of(panel)
        form = AdoptForm(document=document, initial=_initial(document, advice))
        return _page(request, panel, advice, form)
    form = AdoptForm(request.POST, document=document)
    if form.is_valid():
        said = form.cleaned_data
        adopted = act(
            form,
            adopt,
            actor=person,
            panel=panel,
            cut=said["cut"],
            band=said["band"],
            outcome_minima=form.minima(),
            critical=set(said["critical"]),
            reason=said["reason"],
        )
        if adopted is not None:
            messages.success(
                request, _("The standard is adopted: read the draft, then seal it at its end.")
            )
            return redirect("standard", panel.program_id)
    return _page(request, panel, advice_of(panel), form, status=422)


def _page(
    request: HttpRequest, panel: Panel, advice: Advice, form: AdoptForm, status: int = 200
) -> HttpResponse:
    scores = advice.pieces or advice.earlier
    cuts = [(_("Recommended"), advice.cut)]
    typed = _typed(form["cut"].value())
    if typed != advice.cut:
        cuts.append((_("As written below"), typed))
    context = {
        "panel": panel,
        "program": panel.program,
        "advice": advice,
        "form": form,
        "scored": len(scores),
        "rates": passing_rates(scores, [(name, cut) for name, cut in cuts if cut]),
    }
    return render(request, "assessments/panel/adopt.html", context, status=status)


def _typed(cut: Any) -> str | None:
    """Return the share that was typed, or None where it cannot be read."""
    try:
        return read_share(str(cut or ""))
    except ValueError:
        return None


def _initial(document: dict[str, Any], advice: Advice) -> dict[str, Any]:
    minima = {f"{MINIMUM}{row['key']}": row["minimum"] for row in document["outcomes"]}
    shares = {"cut": advice.cut, "band": advice.suggested_band, **minima}
    return {
        **{name: write_share(share) if share else "" for name, share in shares.items()},
        "critical": [row["key"] for row in document["task"]["criteria"] if row["critical"]],
    }
