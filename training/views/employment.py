"""Offers of employment and their end: the contractor's pages, and the person's own."""

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from training.actions.employment import answer_offer, offer_employment, take_back_offer
from training.actions.employment_end import end_employment, leave_employer
from training.forms.employment import AnswerForm, EndForm, NotBegunForm, OfferForm
from training.models import Employment, Person
from training.queries.employment import (
    employments_kept_by,
    mark_of,
    not_over,
    offers_made_by,
    offers_to,
    own_employments,
    waiting_offers,
)
from training.queries.scope import contractor_organisations
from training.views.refusals import act, act_or_say
from training.views.sent import sent
from training.views.who import person_of

OFFERS_SHOWN = 50


@require_http_methods(["GET", "HEAD", "POST"])
@never_cache
def offer_new(request: HttpRequest) -> HttpResponse:
    """Offer employment, and show the offers made."""
    manager = person_of(request)
    if not contractor_organisations(manager).exists():
        raise PermissionDenied(_("Only a contractor's manager offers employment."))
    form = OfferForm(sent(request), manager=manager)
    if request.method == "POST" and form.is_valid():
        offer = act(form, offer_employment, actor=manager, **form.cleaned_data)
        if offer is not None:
            messages.success(
                request,
                _(
                    "The offer is on its way to {email}. Once it is accepted, the "
                    "person is on your crew."
                ).format(email=offer.person.email),
            )
            return redirect("offer_new")
    return render(
        request,
        "training/employment/offers.html",
        {"form": form, "offers": offers_made_by(manager)[:OFFERS_SHOWN], "shown": OFFERS_SHOWN},
        status=422 if form.errors else 200,
    )


@require_POST
def offer_take_back(request: HttpRequest, pk: int) -> HttpResponse:
    """Take an offer back."""
    manager = person_of(request)
    offer = get_object_or_404(offers_made_by(manager), pk=pk)
    act_or_say(request, take_back_offer, actor=manager, offer=offer)
    return redirect("offer_new")


@require_http_methods(["GET", "HEAD", "POST"])
@never_cache
def employment_end(request: HttpRequest, pk: int) -> HttpResponse:
    """Write the last day of somebody on the crew."""
    manager = person_of(request)
    employment = get_object_or_404(employments_kept_by(manager), pk=pk)
    form = _end_form(request, employment)
    if request.method == "POST" and form.is_valid():
        until = form.cleaned_data.get("until")
        act(form, end_employment, actor=manager, employment=employment, until=until)
        if not form.errors:
            messages.success(
                request, _("Written. {person} is told by e-mail.").format(person=employment.person)
            )
            return redirect("crew")
    return _end_page(request, "training/employment/end.html", employment, form)


@require_safe
@never_cache
def my_employment(request: HttpRequest) -> HttpResponse:
    """Show whom the person works for, who sees the records, and the offers."""
    return _mine(request, person_of(request))


@require_http_methods(["GET", "HEAD", "POST"])
@never_cache
def offer_answer(request: HttpRequest, pk: int) -> HttpResponse:
    """Say what accepting an offer means, and take the answer."""
    person = person_of(request)
    offer = get_object_or_404(offers_to(person), pk=pk)
    form = AnswerForm(sent(request), initial={"seen": mark_of(person)})
    if request.method == "POST" and form.is_valid():
        accept = form.cleaned_data["answer"] == "accept"
        act(
            form,
            answer_offer,
            actor=person,
            offer=offer,
            accept=accept,
            seen=form.cleaned_data["seen"],
        )
        if not form.errors:
            done = (
                _("You accepted the offer of {organisation}.")
                if accept
                else _("You declined the offer of {organisation}.")
            )
            messages.success(request, done.format(organisation=offer.organisation))
            return redirect("my_employment")
    offer.refresh_from_db(fields=["state", "answered_at"])
    return render(
        request,
        "training/employment/answer.html",
        {
            "offer": offer,
            "form": form,
            # Whoever reads how it stands now may press again.
            "seen": mark_of(person),
            "ending": not_over(own_employments(person), offer.since),
            "today": timezone.localdate(),
        },
        status=422 if form.errors else 200,
    )


@require_http_methods(["GET", "HEAD", "POST"])
@never_cache
def leave_employer_page(request: HttpRequest, pk: int) -> HttpResponse:
    """Leave an employer: write the last day."""
    person = person_of(request)
    employment = get_object_or_404(not_over(own_employments(person)), pk=pk)
    form = _end_form(request, employment)
    if request.method == "POST" and form.is_valid():
        until = form.cleaned_data.get("until")
        act(form, leave_employer, actor=person, employment=employment, until=until)
        if not form.errors:
            messages.success(
                request,
                _("Written. {organisation} is told by e-mail.").format(
                    organisation=employment.organisation
                ),
            )
            return redirect("my_employment")
    return _end_page(request, "training/employment/leave.html", employment, form)


def _mine(request: HttpRequest, person: Person) -> HttpResponse:
    today = timezone.localdate()
    employments = list(own_employments(person))
    return render(
        request,
        "training/employment/mine.html",
        {
            "waiting": waiting_offers(person),
            "open": [each for each in employments if each.until is None or each.until >= today],
            "over": [each for each in employments if each.until and each.until < today],
            "today": today,
        },
    )


def _end_form(request: HttpRequest, employment: Employment) -> EndForm | NotBegunForm:
    if employment.since > timezone.localdate():
        return NotBegunForm(sent(request))
    return EndForm(sent(request), employment=employment)


def _end_page(
    request: HttpRequest, template: str, employment: Employment, form: EndForm | NotBegunForm
) -> HttpResponse:
    return render(
        request,
        template,
        {"employment": employment, "form": form, "begun": isinstance(form, EndForm)},
        status=422 if form.errors else 200,
    )
