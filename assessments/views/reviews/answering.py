"""The two scorings side by side, and the outcome."""

import uuid

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.cache import never_cache
from django.views.decorators.debug import sensitive_post_parameters
from django.views.decorators.http import require_http_methods

from assessments.actions.reviews import answer_review
from assessments.forms.reviews import AnswerForm
from assessments.queries.report import report
from assessments.queries.reviews.sheet import comparison, review_sheet
from assessments.templatetags.bankermark import result_word
from assessments.views.reviews.common import own_work
from training.site_time import zone_of
from training.views.refusals import act
from training.views.sent import sent


@sensitive_post_parameters("password")
@require_http_methods(["GET", "HEAD", "POST"])
@never_cache
def review_answer(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    """Show the earlier scores beside the reviewer's; take the outcome, its reasons, a signature."""
    person, review = own_work(request, pk)
    if review.scored_at is None:
        messages.info(request, _("Score every criterion first; then the earlier ones are shown."))
        return redirect("review", review.pk)
    found = comparison(review_sheet(review))
    changed_to = result_word(found.document["result"]) if found.decides else ""
    form = AnswerForm(sent(request), request=request, signer=person, changed_to=str(changed_to))
    if request.method == "POST" and form.is_valid():
        answered = act(
            form,
            answer_review,
            actor=person,
            review=review,
            outcome=form.cleaned_data["outcome"],
            answer=form.cleaned_data["answer"],
            password_checked=True,
        )
        if answered is not None:
            messages.success(request, _("The review is answered. Both sides are told by e-mail."))
            return redirect("review", review.pk)
    standard = review.attempt.standard.document
    context = {
        "review": review,
        "attempt": review.attempt,
        "run": review.attempt.enrolment.run,
        "person": review.asked_by,
        "photos": review.photos.all(),
        "compared": found,
        "report": report(standard, found.document, found.observations),
        "form": form,
    }
    with timezone.override(zone_of(review.attempt.enrolment.run.site)):
        status = 422 if form.errors else 200
        return render(request, "assessments/reviews/answer.html", context, status=status)
