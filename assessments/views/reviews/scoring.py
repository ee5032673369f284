"""Scoring a piece again from photographs and readings, without the earlier scores."""

import uuid
from collections.abc import Mapping
from datetime import datetime
from functools import partial
from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods, require_POST

from assessments.actions.reviews import finish_scoring, leave_rest, score_review
from assessments.engine.numberline import figures
from assessments.forms.reviews import NotShownForm, ReadOnSiteForm
from assessments.forms.score import FORMS, SubjectForm
from assessments.models import Review, ReviewScore
from assessments.queries.reviews.second import READ_ON_SITE
from assessments.queries.reviews.sheet import ReviewLine, ReviewSheet, review_sheet
from assessments.sentences import with_limits
from assessments.views.reviews.common import own_work
from assessments.views.strip import beside, stages_of
from training.models import Person
from training.site_time import zone_of
from training.views.refusals import act, act_or_say

CriterionForm = SubjectForm | ReadOnSiteForm


def blind_sheet(request: HttpRequest, review: Review) -> HttpResponse:
    """Show what is to be scored, and what the trainee handed in."""
    sheet = review_sheet(review)
    context = {
        **_around(sheet),
        "sheet": sheet,
        "next": sheet.next_todo(),
        "handed": review.photos.all(),
    }
    return render(request, "assessments/reviews/sheet.html", context)


@require_http_methods(["GET", "HEAD", "POST"])
@never_cache
def review_criterion(request: HttpRequest, pk: uuid.UUID, key: str) -> HttpResponse:
    """Show one criterion with its evidence, take a score or why there is none."""
    person, review = own_work(request, pk)
    if review.scored_at is not None:
        messages.info(request, _("The earlier scores were shown: nothing more is scored."))
        return redirect("review_answer", review.pk)
    with timezone.override(zone_of(review.attempt.enrolment.run.site)):
        sheet = review_sheet(review)
        line = sheet.line(key)
        if line is None:
            raise Http404(f"The standard has no criterion {key}.")
        form, unseen = _forms(request, line)
        sent = unseen if "not_shown" in request.POST else form
        ready = request.method == "POST" and sent is not None and sent.is_valid()
        if ready and _score(person, review, key, sent) is not None:
            return redirect("review_criterion", review.pk, key)
        context = {**_around(sheet, line), **_about(sheet, line, form), "unseen": unseen}
        context["handed"] = review.photos.all()
        status = 422 if unseen.errors or (form is not None and form.errors) else 200
        return render(request, "assessments/reviews/criterion.html", context, status=status)


@require_http_methods(["GET", "HEAD", "POST"])
@never_cache
def review_rest(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    """Say once why the evidence shows none of the criteria that are left."""
    person, review = own_work(request, pk)
    form = NotShownForm(request.POST if request.method == "POST" else None)
    if request.method == "POST" and form.is_valid():
        reason = form.cleaned_data["note"]
        if act(form, leave_rest, actor=person, review=review, reason=reason) is not None:
            return redirect("review", review.pk)
    sheet = review_sheet(review)
    left = [line for line in sheet.lines if not line.done]
    status = 422 if form.errors else 200
    context = {"review": review, "form": form, "left": left}
    return render(request, "assessments/reviews/rest.html", context, status=status)


@require_POST
def review_finish(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    """End the scoring and show the earlier scores."""
    person, review = own_work(request, pk)
    if act_or_say(request, finish_scoring, actor=person, review=review):
        return redirect("review_answer", review.pk)
    return redirect("review", review.pk)


def _score(
    person: Person, review: Review, key: str, form: CriterionForm | NotShownForm | None
) -> ReviewScore | None:
    assert form is not None
    note = form.cleaned_data["note"]
    value: Mapping[str, Any] | None
    if isinstance(form, NotShownForm):
        value, score_id = None, form.cleaned_data["score_id"]
    else:
        value, score_id = form.value(), form.cleaned_data["observation_id"]
    return act(
        form,
        score_review,
        actor=person,
        review=review,
        criterion=key,
        value=value,
        note=note,
        score_id=score_id,
    )


def _forms(request: HttpRequest, line: ReviewLine) -> tuple[CriterionForm | None, NotShownForm]:
    """Return the form of a score, None where nothing was read, and that of why there is none."""
    posted = request.POST if request.method == "POST" else None
    unseen_sent = posted is not None and "not_shown" in posted
    score = line.score
    why = score.note if score and score.value is None else ""
    unseen = NotShownForm(
        posted if unseen_sent else None,
        initial={"note": why, "score_id": uuid.uuid4()},
        auto_id="unseen_%s",
    )
    data = None if unseen_sent else posted
    note = score.note if score and score.value is not None else ""
    if line.subject.form_kind in READ_ON_SITE:
        if not line.given:
            return None, unseen
        initial: dict[str, Any] = {"note": note}
        value = score.value if score else None
        if value is not None and value in line.given:
            initial["given"] = list(line.given).index(value)
        return ReadOnSiteForm(data, given=line.given, initial=initial), unseen
    kind = FORMS[line.subject.form_kind]
    before = kind.initial_of(score.value) if score and score.value is not None else {}
    form = kind(data, subject=line.subject.document or {}, initial={**before, "note": note})
    # A new score takes the place of the own earlier one by itself.
    del form.fields["replaces"]
    return form, unseen


def _address(sheet: ReviewSheet, line: ReviewLine) -> str:
    return reverse("review_criterion", args=[sheet.review.pk, line.subject.key])


def _around(sheet: ReviewSheet, line: ReviewLine | None = None) -> dict[str, Any]:
    """Return what the strip on top and the bar below show."""
    stages = stages_of(sheet.standard, sheet.lines, line)
    return {
        "review": sheet.review,
        "person": _("Review, attempt {number}").format(number=sheet.review.attempt.number),
        "stages": [each for each in stages if each["lines"]],
        "list_url": reverse("review", args=[sheet.review.pk]),
        **beside(sheet.lines, line, partial(_address, sheet)),
    }


def _about(sheet: ReviewSheet, line: ReviewLine, form: CriterionForm | None) -> dict[str, Any]:
    criterion = line.subject.document
    assert criterion is not None
    after = sheet.next_todo(line)
    drawn: list[Any] = []
    if line.subject.form_kind == "measured":
        loaded = sheet.standard.criterion(line.subject.key)
        drawn = [figures(loaded, value if "readings" in value else None) for value in line.given]
        criterion = with_limits(criterion, figures(loaded, None))
    accepted = line.score.value if line.score else None
    return {
        "line": line,
        "criterion": criterion,
        "form": form,
        "given": [
            {
                "value": value,
                "figures": drawn[index] if drawn else None,
                "accepted": accepted == value,
                **{
                    end: datetime.fromisoformat(value[end]) if value.get(end) else None
                    for end in ("start", "end")
                },
            }
            for index, value in enumerate(line.given)
        ],
        "current": accepted,
        "after": after,
        "after_url": _address(sheet, after) if after else None,
    }
