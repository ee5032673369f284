"""Confirming work: for one record, taking it back, and what the holder sees of it."""

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods, require_safe

from certificates.actions.continuity import confirm_work, retract_confirmation
from certificates.actions.continuity_guard import employer_today, fit_to_confirm, named
from certificates.forms.continuity import ConfirmForm, RetractForm
from certificates.models import Record
from certificates.queries.continuity import (
    Chain,
    chain_of,
    confirmations_of,
    confirmations_signed_for,
)
from certificates.queries.own_confirmations import own_chains
from certificates.queries.scope import records_visible_to
from certificates.queries.statements import range_rows, seal_of, sentence
from certificates.wording import short_day
from training.models import Organisation, Person
from training.queries.scope import contractor_organisations
from training.views.refusals import act
from training.views.sent import sent
from training.views.who import person_of


@require_http_methods(["GET", "HEAD", "POST"])
@never_cache
def confirm_work_page(request: HttpRequest, number: str) -> HttpResponse:
    """Write a day and a project, read the statement in full, and sign it."""
    manager = person_of(request)
    rows = records_visible_to(manager).select_related(
        "holder", "provider", "decision__attempt__enrolment__run__site"
    )
    record = get_object_or_404(rows, number=number)
    organisation = employer_today(manager, record)
    form = ConfirmForm(sent(request), organisations=[organisation])
    statements: list[str] = []
    if request.method == "POST" and form.is_valid():
        statements = _statements(form, manager, record, organisation)
        if statements and request.POST.get("sign") == seal_of(statements):
            signed = act(form, confirm_work, actor=manager, record=record, **form.cleaned_data)
            if signed is not None:
                messages.success(
                    request,
                    _("Signed: {holder} worked on {day} at {project}.").format(
                        holder=record.holder,
                        day=short_day(signed.worked_on),
                        project=signed.project_name,
                    ),
                )
                return redirect("confirm_many")
    return _confirm_page(request, manager, record, form, statements, chain_of(record))


@require_http_methods(["GET", "HEAD", "POST"])
@never_cache
def confirmation_retract(request: HttpRequest, pk: int) -> HttpResponse:
    """Take a confirmation back, with the reason."""
    manager = person_of(request)
    if not contractor_organisations(manager).exists():
        raise PermissionDenied(_("Only a contractor's manager takes a confirmation back."))
    confirmation = get_object_or_404(confirmations_signed_for(manager), pk=pk)
    form = RetractForm(sent(request))
    if request.method == "POST" and form.is_valid():
        done = act(
            form,
            retract_confirmation,
            actor=manager,
            confirmation=confirmation,
            reason=form.cleaned_data["reason"],
        )
        if done is not None:
            messages.success(request, _("The confirmation is taken back: it counts no longer."))
            return redirect("confirm_many")
    return render(
        request,
        "certificates/crew/continuity/retract.html",
        {"confirmation": confirmation, "form": form},
        status=422 if form.errors else 200,
    )


@require_safe
@never_cache
def my_confirmations(request: HttpRequest) -> HttpResponse:
    """Show the holder what keeps each of the own records, and who confirmed it."""
    rows = own_chains(person_of(request))
    return render(request, "certificates/crew/continuity/mine.html", {"rows": rows})


def _statements(
    form: ConfirmForm, manager: Person, record: Record, organisation: Organisation
) -> list[str]:
    """Return what is to be signed; what would be refused is put at its field instead."""
    data = form.cleaned_data
    name = act(form, named, organisation, data["project"], data["project_name"])
    fit = act(form, fit_to_confirm, manager, record, data["worked_on"])
    if name is None or fit is None:
        return []
    return sentence(
        organisation=organisation.name,
        holders=[(record.holder.full_name, record.number, record.document["program"]["title"])],
        worked_on=data["worked_on"],
        project_name=name,
        work=data["work"],
    )


def _confirm_page(
    request: HttpRequest,
    manager: Person,
    record: Record,
    form: ConfirmForm,
    statements: list[str],
    chain: Chain,
) -> HttpResponse:
    return render(
        request,
        "certificates/crew/continuity/confirm.html",
        {
            "record": record,
            "form": form,
            "statements": [] if form.errors else statements,
            "sign": seal_of(statements),
            "chain": chain,
            "kept": chain.kept(),
            "range": range_rows(chain.rules),
            "confirmations": confirmations_of([record.decision.attempt_id]),
            "managed": {each.pk for each in contractor_organisations(manager)},
        },
        status=422 if form.errors else 200,
    )
