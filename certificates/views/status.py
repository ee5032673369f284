"""The page of one record: what happened to it, and what a lead may do about it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

from django import forms
from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy as _l
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods, require_safe

from assessments.models import Attempt
from certificates.actions.looks import note_account
from certificates.actions.status.changes import restore_record, suspend_record
from certificates.actions.status.withdrawal import (
    confirm_withdrawal,
    decline_withdrawal,
    propose_withdrawal,
)
from certificates.forms.status import AnswerForm, ProposeForm, ReasonForm
from certificates.models import Record
from certificates.numbers import read_number
from certificates.queries.life import Life, life_of, other_leads
from certificates.queries.possible import possible
from certificates.queries.scope import records_visible_to
from certificates.queries.standing import with_standing
from training.models import Person
from training.queries.scope import contractor_organisations, is_lead
from training.views.refusals import act
from training.views.sent import sent
from training.views.who import person_of

if TYPE_CHECKING:
    from django_stubs_ext import StrOrPromise


@dataclass(frozen=True)
class Doing:
    """What the page of an action says: ``explains`` tells what the action does."""

    title: StrOrPromise
    explains: StrOrPromise
    submit: StrOrPromise
    done: StrOrPromise
    buttons: list[tuple[str, StrOrPromise]] = field(default_factory=list)


SUSPEND = Doing(
    _l("Suspend this record"),
    _l(
        "The record does not hold until it is restored, and whoever checks it is told so. "
        "The holder gets an e-mail with your reason. A lead can restore it at any time."
    ),
    _l("Suspend it"),
    _l("The record is suspended. The holder is told by e-mail."),
)
RESTORE = Doing(
    _l("Restore this record"),
    _l(
        "The suspension ends: the record holds again for as long as it is valid. The holder gets "
        "an e-mail with your reason."
    ),
    _l("Restore it"),
    _l("The record is restored. The holder is told by e-mail."),
)
PROPOSE = Doing(
    _l("Propose to withdraw this record"),
    _l(
        "A withdrawal needs two leads: you propose it, another confirms or declines it. Once "
        "confirmed, the record never holds again and the holder gets an e-mail with your reason. "
        "For a misspelt name, correct the record instead."
    ),
    _l("Propose the withdrawal"),
    _l("The withdrawal is proposed. It waits on the first page of the other leads."),
)
ANSWER = Doing(
    _l("Answer the proposal to withdraw"),
    _l(
        "Confirm it, and the record never holds again: that cannot be undone, and the holder gets "
        "an e-mail with the reason of the proposal. Decline it, and a suspension that came with "
        "the proposal is lifted."
    ),
    _l("Confirm: withdraw the record"),
    "",
    [("decline", _l("Decline the proposal"))],
)


# A review made the attempt void: there is nothing left to decline.
ANSWER_VOID = Doing(
    _l("Confirm the withdrawal"),
    _l(
        "A review made the attempt behind this record void, so the record is suspended and cannot "
        "hold again. Confirm the withdrawal as a second person: that cannot be undone, and the "
        "holder gets an e-mail with the reason."
    ),
    _l("Confirm: withdraw the record"),
    "",
)


@require_safe
@never_cache
def record_page(request: HttpRequest, number: str) -> HttpResponse:
    """Show a record, what happened to it since its issue, and what may be done."""
    person = person_of(request)
    record = visible_record(person, number)
    leads = is_lead(person, record.provider)
    life = life_of(record, inside=leads)
    note_account(request=request, record=record, person=person)
    return render(
        request,
        "certificates/record.html",
        {
            "record": record,
            "life": life,
            "standing": life.standing,
            "leads": leads,
            # An employer learns how a record stands, as anybody does, and not why.
            "reasons": record.holder_id == person.pk or not _only_employs(person, record),
            "possible": possible(life, person) if leads else [],
            "others": other_leads(record, person) if leads and life.waiting else [],
            "waiting": life.waiting if leads else None,
        },
    )


@require_http_methods(["GET", "HEAD", "POST"])
@never_cache
def record_suspend(request: HttpRequest, number: str) -> HttpResponse:
    """Suspend a record."""
    return _reasoned(request, number, "record_suspend", SUSPEND, suspend_record)


@require_http_methods(["GET", "HEAD", "POST"])
@never_cache
def record_restore(request: HttpRequest, number: str) -> HttpResponse:
    """Lift the suspension of a record."""
    return _reasoned(request, number, "record_restore", RESTORE, restore_record)


@require_http_methods(["GET", "HEAD", "POST"])
@never_cache
def record_withdraw(request: HttpRequest, number: str) -> HttpResponse:
    """Propose to withdraw a record."""
    return _reasoned(request, number, "record_withdraw", PROPOSE, propose_withdrawal, ProposeForm)


@require_http_methods(["GET", "HEAD", "POST"])
@never_cache
def record_withdrawal(request: HttpRequest, number: str) -> HttpResponse:
    """Confirm or decline the proposal to withdraw a record."""
    person, life = led_life(request, number)
    if life.waiting is None or not offered(request, life, person, "record_withdrawal"):
        return redirect("record", life.record.number)
    form = AnswerForm(sent(request), seen=life.seen)
    if request.method == "POST" and form.is_valid():
        given: dict[str, Any] = {"actor": person, "proposal": life.waiting, **form.cleaned_data}
        if "decline" in request.POST:
            act(form, decline_withdrawal, **given)
            told = _("The proposal is declined.")
        else:
            act(form, confirm_withdrawal, **given)
            told = _("The record is withdrawn. The holder is told by e-mail.")
        if not form.errors:
            messages.success(request, told)
            return redirect("record", life.record.number)
    void = life.record.decision.attempt.state == Attempt.State.VOID
    return doing_page(request, person, life, ANSWER_VOID if void else ANSWER, form)


def _reasoned(
    request: HttpRequest,
    number: str,
    name: str,
    doing: Doing,
    action: Callable[..., object],
    form_class: type[ReasonForm] = ReasonForm,
) -> HttpResponse:
    person, life = led_life(request, number)
    if not offered(request, life, person, name):
        return redirect("record", life.record.number)
    form = form_class(sent(request), seen=life.seen)
    if request.method == "POST" and form.is_valid():
        act(form, action, actor=person, record=life.record, **form.cleaned_data)
        if not form.errors:
            messages.success(request, str(doing.done))
            return redirect("record", life.record.number)
    return doing_page(request, person, life, doing, form)


def visible_record(person: Person, number: str) -> Record:
    """Return the record of this number with what its page needs; 404 when it is not visible."""
    try:
        meant = read_number(number)
    except ValueError as error:
        raise Http404(str(error)) from None
    records = with_standing(records_visible_to(person)).defer(None)
    related = records.select_related(
        "provider",
        "holder",
        "issued_by",
        "replaces",
        "replaced_by__issued_by",
        "decision__replaced_by__decided_by",
        "decision__replaced_by__made_by_review",
        "decision__attempt__enrolment__run__site",
        "decision__attempt__enrolment__run__program",
    )
    return get_object_or_404(related, number=meant)


def led_life(request: HttpRequest, number: str) -> tuple[Person, Life]:
    """Return who asks, a lead of the record's provider, and the record's life."""
    person = person_of(request)
    record = visible_record(person, number)
    if not is_lead(person, record.provider):
        raise PermissionDenied(
            _("Only a training lead of {provider} may do this.").format(provider=record.provider)
        )
    return person, life_of(record, inside=True)


def offered(request: HttpRequest, life: Life, person: Person, name: str) -> bool:
    """Say whether the action at the address ``name`` is possible; if not, the next page says so.

    What was sent is always tried, so that the action itself says why it is refused.
    """
    if request.method == "POST" or name in {each.name for each in possible(life, person)}:
        return True
    messages.info(request, _("This cannot be done to the record as it stands now."))
    return False


def doing_page(
    request: HttpRequest, person: Person, life: Life, doing: Doing, form: forms.Form
) -> HttpResponse:
    """Show the form of an action; after a refusal with the record's life as it is by then."""
    if form.is_bound:
        life = life_of(visible_record(person, life.record.number), inside=True)
        # Whoever reads what happened meanwhile may press again.
        form.data = form.data.copy()  # type: ignore[attr-defined]
        form.data["seen"] = str(life.seen)  # type: ignore[index]
    return render(
        request,
        "certificates/record_action.html",
        {
            "record": life.record,
            "life": life,
            "standing": life.standing,
            "reasons": True,
            "doing": doing,
            "form": form,
            "cancel_url": reverse("record", args=[life.record.number]),
        },
        status=422 if form.errors else 200,
    )


def _only_employs(person: Person, record: Record) -> bool:
    """Say whether ``person`` sees the record for no other reason than employing its holder."""
    if not contractor_organisations(person).exists():
        return False
    run = record.decision.attempt.enrolment.run
    taught = run.instructors.filter(pk=person.pk).exists()
    return not taught and not is_lead(person, record.provider)
