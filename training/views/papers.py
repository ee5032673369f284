"""The papers of one person: what was shown, by whom it was seen; keeping one, taking one back."""

import uuid
from contextlib import suppress
from mimetypes import guess_type

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods, require_safe

from training.actions.documents import NOT_YOURS, OWN, keep_document, take_back_document
from training.forms.papers import PaperForm, TakeBackForm
from training.models import HeldDocument, Organisation, Person
from training.queries.fit_run import own_fit
from training.queries.papers import (
    documents_kept_by,
    documents_visible_to,
    paper_holders,
    providers_for,
)
from training.queries.papers_page import paper_rows
from training.queries.scope import is_lead, people_visible_to
from training.scans import Kind, Scan, drop_scan, held_scan, hold_scan
from training.views.refusals import act
from training.views.sent import sent
from training.views.who import person_of


@require_safe
def my_papers(request: HttpRequest) -> HttpResponse:
    """Show the own papers, and what the own runs ask for."""
    person = person_of(request)
    return render(
        request,
        "training/fit/mine.html",
        {"rows": paper_rows(person, person, timezone.localdate()), "asked": own_fit(person)},
    )


@require_safe
def person_papers(request: HttpRequest, pk: int) -> HttpResponse:
    """Show the papers of a person whom the reader looks after."""
    person = person_of(request)
    found = get_object_or_404(paper_holders(person), pk=pk)
    return render(
        request,
        "training/fit/person.html",
        {
            "found": found,
            "rows": paper_rows(person, found, timezone.localdate()),
            "keeps": providers_for(person, found).exists(),
            "is_known": people_visible_to(person).filter(pk=found.pk).exists(),
        },
    )


@require_http_methods(["GET", "HEAD", "POST"])
@never_cache
def document_new(request: HttpRequest, pk: int) -> HttpResponse:
    """Keep a paper of a person; ``?kind=`` and ``?provider=`` are chosen beforehand."""
    person = person_of(request)
    if pk == person.pk:
        raise PermissionDenied(_(OWN))
    found = get_object_or_404(paper_holders(person), pk=pk)
    providers = list(providers_for(person, found))
    provider = _provider(request, providers)
    form, scan = _form(request, person, provider)
    if form.is_valid():
        document = _keep(form, scan, person, found, provider)
        if document is not None:
            drop_scan(person, document.pk)
            messages.success(
                request,
                _("The paper of {found} is kept: {title}.").format(
                    found=found, title=document.title
                ),
            )
            return redirect("person_papers", found.pk)
    if scan is not None and "document" in form.cleaned_data:
        hold_scan(person, form.cleaned_data["document"], scan)
        form.say_held()
    return render(
        request,
        "training/fit/new.html",
        {"form": form, "found": found, "provider": provider, "providers": providers},
        status=422 if form.errors else 200,
    )


@require_http_methods(["GET", "HEAD", "POST"])
def document_take_back(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    """Say that a paper counts no longer."""
    person = person_of(request)
    document = _visible(person, pk)
    if not documents_kept_by(person).filter(pk=document.pk).exists():
        raise PermissionDenied(_(OWN) if document.person_id == person.pk else _(NOT_YOURS))
    form = TakeBackForm(sent(request))
    if request.method == "POST" and form.is_valid():
        act(form, take_back_document, actor=person, document=document, **form.cleaned_data)
        if not form.errors:
            messages.success(request, _("{title} counts no longer.").format(title=document.title))
            return redirect("person_papers", document.person_id)
    return render(
        request,
        "training/fit/take_back.html",
        {"form": form, "document": document},
        status=422 if form.errors else 200,
    )


@require_safe
@never_cache
def document_file(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    """Send the photograph or scan of a paper to who may see it."""
    document = _visible(person_of(request), pk)
    name = document.file.name
    if not name:
        raise Http404(_("No photograph or scan of this paper is kept."))
    with document.file.open("rb") as file:
        content = file.read()
    kind = guess_type(name)[0] or "application/octet-stream"
    # A PDF may hold more than a picture: it is saved, not opened beside the pages.
    shown = "inline" if kind in (Kind.JPEG, Kind.PNG) else "attachment"
    ending = name.rpartition(".")[2]
    headers = {"Content-Disposition": f'{shown}; filename="paper-{document.pk}.{ending}"'}
    return HttpResponse(content, content_type=kind, headers=headers)


def _visible(person: Person, pk: uuid.UUID) -> HeldDocument:
    documents = documents_visible_to(person).select_related("person", "provider")
    return get_object_or_404(documents, pk=pk)


def _provider(request: HttpRequest, providers: list[Organisation]) -> Organisation:
    """Return the provider that is asked for, else the first one."""
    if not providers:
        raise PermissionDenied(_(NOT_YOURS))
    asked = request.GET.get("provider")
    if asked is None:
        return providers[0]
    for each in providers:
        if str(each.pk) == asked:
            return each
    raise Http404(_("You keep no papers of this person for that provider."))


def _form(
    request: HttpRequest, person: Person, provider: Organisation
) -> tuple[PaperForm, Scan | None]:
    """Return the form, and its scan or the one held since it was sent before."""
    leads = is_lead(person, provider)
    if request.method != "POST":
        initial = {"kind": request.GET.get("kind", "")}
        return PaperForm(initial=initial, provider=provider, instructors=leads), None
    held = None
    with suppress(ValueError):  # the form says so at its field
        held = held_scan(person, uuid.UUID(request.POST.get("document", "")))
    form = PaperForm(
        request.POST,
        request.FILES,
        provider=provider,
        instructors=leads,
        held=held is not None,
    )
    form.is_valid()
    return form, form.cleaned_data.get("file") or held


def _keep(
    form: PaperForm, scan: Scan | None, actor: Person, person: Person, provider: Organisation
) -> HeldDocument | None:
    values = {name: form.cleaned_data[name] for name in form.fields if name != "file"}
    return act(
        form, keep_document, actor=actor, person=person, provider=provider, scan=scan, **values
    )
