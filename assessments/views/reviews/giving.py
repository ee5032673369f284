"""A lead chooses who looks at a decision again; the reviewer hands it back."""

import uuid

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods

from assessments.actions.reviews import give_review, step_down
from assessments.forms.reviews import GiveForm, HandBackForm
from assessments.models import Review
from assessments.queries.calibration.authority import site_day
from assessments.queries.reviews.reviewers import candidates
from assessments.views.reviews.common import leads_review, own_work, visible_review
from training.models import Person
from training.site_time import zone_of
from training.views.refusals import act
from training.views.sent import sent


@require_http_methods(["GET", "HEAD", "POST"])
@never_cache
def review_give(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    """Show who may look at the decision again and why others may not; give it to one."""
    person, review = visible_review(request, pk)
    if not leads_review(person, review):
        raise PermissionDenied("Only a training lead chooses who looks at a decision again.")
    if review.state not in Review.UNDER_WAY:
        messages.info(request, _("This review is over: nobody is asked any more."))
        return redirect("review", review.pk)
    everybody = candidates(review)
    able = [each for each in everybody if not each.why_not and each.person != review.reviewer]
    form = GiveForm(sent(request), choices=able)
    if request.method == "POST" and form.is_valid():
        reviewer = Person.objects.get(pk=form.cleaned_data["reviewer"])
        if act(form, give_review, actor=person, review=review, reviewer=reviewer):
            messages.success(request, _("{name} is asked by e-mail.").format(name=reviewer))
            return redirect("review", review.pk)
    context = {
        "review": review,
        "attempt": review.attempt,
        "run": review.attempt.enrolment.run,
        "form": form,
        "able": able,
        "unable": [each for each in everybody if each.why_not],
        "own": review.asked_by_id == person.pk,
        "overdue": review.answer_by < site_day(review.attempt),
    }
    with timezone.override(zone_of(review.attempt.enrolment.run.site)):
        status = 422 if form.errors else 200
        return render(request, "assessments/reviews/give.html", context, status=status)


@require_http_methods(["GET", "HEAD", "POST"])
@never_cache
def review_step_down(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    """Take the reason with which a reviewer hands a review back."""
    person, review = own_work(request, pk)
    form = HandBackForm(sent(request))
    if request.method == "POST" and form.is_valid():
        reason = form.cleaned_data["reason"]
        if act(form, step_down, actor=person, review=review, reason=reason):
            messages.success(request, _("The review is handed back. The training leads know."))
            return redirect("reviews")
    context = {"review": review, "form": form}
    status = 422 if form.errors else 200
    return render(request, "assessments/reviews/step_down.html", context, status=status)
