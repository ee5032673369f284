"""The page of an attempt: the result in words, what decided it, what was seen."""

import uuid

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_safe

from assessments.models import Attempt, Decision
from assessments.queries.after_result import what_follows
from assessments.queries.attempts import current_decision
from assessments.queries.logged import logged_of
from assessments.queries.paper import keyed_sheets
from assessments.queries.past import past_of
from assessments.queries.report import report
from assessments.queries.results import OwnAttempt, history
from assessments.queries.reviews.scope import blind_review
from assessments.queries.scope import attempts_assessable_by
from assessments.queries.site.photos import photos_of
from assessments.queries.standards import sealed_standard
from assessments.views.attempts import visible_attempt
from training.views.who import person_of


@require_safe
def attempt(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    """Show a decided attempt; of an open one, only that it is being assessed.

    Who scores it a second time is not shown the first result until that is done.
    """
    person = person_of(request)
    found = visible_attempt(person, pk)
    past = past_of(found)
    if (blind := blind_review(person, found, past.reviews)) is not None:
        return redirect("review", blind.pk)
    decision = _whole(current_decision(found))
    own = found.enrolment.person_id == person.pk
    assesses = not own and attempts_assessable_by(person).filter(pk=pk).exists()
    context = {
        "attempt": found,
        "person": found.enrolment.person,
        "run": found.enrolment.run,
        "assesses": assesses,
        # Of an open attempt the trainee sees only that it is being assessed.
        "keyed": keyed_sheets(found) if assesses or decision is not None else [],
        "own": own,
        "decision": decision,
        "word": OwnAttempt(found, decision).word,
        "void": found.state == Attempt.State.VOID,
        "history": history(past),
    }
    if decision is not None:
        context["report"] = report(
            found.standard.document,
            decision.document,
            decision.observations,
            photos_of(found),
            logged_of(found),
            sealed_standard(found.standard.document, found.standard.digest),
        )
    context.update(what_follows(found, decision, past, person))
    return render(request, "assessments/attempt.html", context)


def _whole(decision: Decision | None) -> Decision | None:
    """Return a decision with what it rests on, and who made it (one query)."""
    if decision is None:
        return None
    return Decision.objects.select_related("decided_by").get(pk=decision.pk)
