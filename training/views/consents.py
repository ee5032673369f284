"""What people agreed to: the person's own answers, and those of a run."""

import uuid

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from training.actions.consents import give_consent, note_consent, refuse_consent
from training.forms.consents import NoteForm
from training.models import Consent, Enrolment
from training.privacy.consent_words import WORDS
from training.queries.consents import consents_of, providers_of
from training.queries.scope import enrolments_visible_to, runs_visible_to
from training.views.refusals import act, act_or_say
from training.views.sent import sent
from training.views.who import person_of


@require_POST
def consent_say(request: HttpRequest) -> HttpResponse:
    """Take the person's own answer; a consent can be given, refused and taken back."""
    person = person_of(request)
    asked = request.POST.get("provider", "")
    providers = providers_of(person).filter(pk=int(asked) if asked.isdecimal() else 0)
    provider = get_object_or_404(providers)
    action = give_consent if request.POST.get("answer") == "give" else refuse_consent
    kind = request.POST.get("kind", "")
    if act_or_say(request, action, actor=person, provider=provider, kind=kind) is not None:
        messages.success(request, _("Your answer is kept. You can change it at any time."))
    return redirect("my_data")


@require_safe
@never_cache
def run_consents(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    """Show who of a run agreed to what."""
    runs = runs_visible_to(person_of(request)).select_related("program__provider", "site")
    run = get_object_or_404(runs, pk=pk)
    enrolments = list(
        run.enrolments.exclude(state=Enrolment.State.WITHDRAWN).select_related("person")
    )
    answers = consents_of([each.person_id for each in enrolments], run.program.provider)
    rows = [
        {"enrolment": each, "said": [answers[each.person_id][kind] for kind in WORDS]}
        for each in enrolments
    ]
    kinds = [Consent.Kind(kind).label for kind in WORDS]
    context = {"run": run, "rows": rows, "kinds": kinds}
    return render(request, "training/privacy/run_consents.html", context)


@require_http_methods(["GET", "HEAD", "POST"])
@never_cache
def consent_note(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    """Write down what somebody said on paper or on the instructor's device."""
    actor = person_of(request)
    rows = enrolments_visible_to(actor).filter(run__in=runs_visible_to(actor).order_by())
    enrolment = get_object_or_404(
        rows.select_related("person", "run__site", "run__program__provider"), pk=pk
    )
    form = NoteForm(sent(request))
    if request.method == "POST" and form.is_valid():
        said = {**form.cleaned_data, "given": form.cleaned_data["given"] == "give"}
        if act(form, note_consent, actor=actor, enrolment=enrolment, **said) is not None:
            messages.success(
                request, _("The answer of {person} is kept.").format(person=enrolment.person)
            )
            return redirect("run_consents", enrolment.run_id)
    words = [(Consent.Kind(kind).label, text) for kind, text in WORDS.items()]
    return render(
        request,
        "training/privacy/consent_note.html",
        {"form": form, "enrolment": enrolment, "words": words},
        status=422 if form.errors else 200,
    )
