"""Asking for a review, its page, the list of reviews, and taking one back."""

import uuid
from typing import Any

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from assessments.actions.reviews import ask_review, take_back_review
from assessments.forms.reviews import AskForm, ReviewPhotoRows
from assessments.models import Review
from assessments.queries.attempts import current_decision
from assessments.queries.calibration.authority import site_day
from assessments.queries.reviews.scope import listed
from assessments.queries.reviews.sheet import comparison, review_sheet
from assessments.queries.reviews.terms import term_of, why_not_ask
from assessments.views.attempts import visible_attempt
from assessments.views.reviews.common import (
    form_id,
    leads_review,
    visible_review,
    works_on,
)
from assessments.views.reviews.scoring import blind_sheet
from training.site_time import zone_of
from training.views.refusals import act, act_or_say
from training.views.sent import sent
from training.views.who import person_of

PAGE = 50


@require_http_methods(["GET", "HEAD", "POST"])
@never_cache
def review_ask(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    """Take the reason and the photographs; where something is wrong, everything sent is kept."""
    person = person_of(request)
    attempt = visible_attempt(person, pk)
    if attempt.enrolment.person_id != person.pk:
        raise PermissionDenied("Only the trainee asks for a review of the own result.")
    decision = current_decision(attempt)
    why_not = why_not_ask(attempt, decision, site_day(attempt), attempt.reviews.all())
    with timezone.override(zone_of(attempt.enrolment.run.site)):
        key = form_id(request, "review")
        form = AskForm(sent(request), initial={"review": key})
        rows = ReviewPhotoRows(request, person, key)
        if request.method == "POST" and form.is_valid() & rows.is_valid():
            review = act(
                form,
                ask_review,
                actor=person,
                attempt=attempt,
                reason=form.cleaned_data["reason"],
                photographs=rows.photographs(),
                review_id=form.cleaned_data["review"],
            )
            if review is not None:
                rows.forget()
                messages.success(request, _("Your review is asked for."))
                return redirect("review", review.pk)
        if request.method == "POST":
            rows.keep_aside()
        context = {
            "attempt": attempt,
            "run": attempt.enrolment.run,
            "decision": decision,
            "term": term_of(attempt, decision) if decision else None,
            "why_not": why_not,
            "form": form,
            "rows": rows,
        }
        status = 422 if form.errors or rows.faulty else 200
        return render(request, "assessments/reviews/ask.html", context, status=status)


@require_safe
@never_cache
def reviews(request: HttpRequest) -> HttpResponse:
    """Show the reviews that the person may know of: those under way first, the earliest due."""
    page = Paginator(listed(person_of(request)), PAGE).get_page(request.GET.get("page"))
    context = {"page": page, "today": timezone.localdate(), "query": ""}
    return render(request, "assessments/reviews/list.html", context)


@require_safe
@never_cache
def review(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    """Show where a review stands; to who scores in it, the sheet alone."""
    person, found = visible_review(request, pk)
    with timezone.override(zone_of(found.attempt.enrolment.run.site)):
        if works_on(person, found):
            if found.scored_at is not None:
                return redirect("review_answer", found.pk)
            return blind_sheet(request, found)
        return render(request, "assessments/reviews/review.html", _about(person, found))


@require_POST
def review_take_back(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    """Take the own review back."""
    person, found = visible_review(request, pk)
    if act_or_say(request, take_back_review, actor=person, review=found):
        messages.success(request, _("The review is taken back. The result stands as it is."))
        return redirect("attempt", found.attempt_id)
    return redirect("review", found.pk)


def _about(person: Any, found: Review) -> dict[str, Any]:
    under_way = found.state in Review.UNDER_WAY
    own = found.asked_by_id == person.pk
    leads = leads_review(person, found)
    context: dict[str, Any] = {
        "review": found,
        "attempt": found.attempt,
        "run": found.attempt.enrolment.run,
        "person": found.asked_by,
        "own": own,
        "leads": leads,
        "under_way": under_way,
        "overdue": under_way and found.answer_by < site_day(found.attempt),
        "photos": found.photos.all(),
    }
    if found.state == Review.State.ANSWERED and found.scored_at is not None:
        context["compared"] = comparison(review_sheet(found))
    return context
