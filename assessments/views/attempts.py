"""Starting an attempt, and the page of one: what was met, what was not, and what decided it."""

import uuid

from django.core.exceptions import PermissionDenied
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from assessments.actions.attempts import start_attempt
from assessments.models import Attempt
from assessments.queries.scope import attempts_assessable_by, attempts_visible_to
from training.models import Person
from training.queries.scope import enrolments_visible_to
from training.views.refusals import act_or_say
from training.views.who import person_of

PARTS = ("standard", "enrolment__person", "enrolment__run__program", "enrolment__run__site")


def visible_attempt(person: Person, pk: uuid.UUID) -> Attempt:
    """Return the attempt with its parts; Http404 when it is not visible to ``person``."""
    # Nearly always the own one, which takes none of the conditions for all others.
    own = Attempt.objects.select_related(*PARTS).filter(pk=pk, enrolment__person=person)
    return own.first() or get_object_or_404(
        attempts_visible_to(person).select_related(*PARTS), pk=pk
    )


def assessable_attempt(person: Person, pk: uuid.UUID) -> Attempt:
    """Return the attempt; Http404 for a stranger, PermissionDenied for who may only read it."""
    attempt = visible_attempt(person, pk)
    if not attempts_assessable_by(person).filter(pk=pk).exists():
        raise PermissionDenied(_("Only a lead or an instructor of the run scores this attempt."))
    return attempt


@require_POST
def attempt_start(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    """Start the next attempt of an enrolment and go on to scoring it."""
    person = person_of(request)
    enrolment = get_object_or_404(enrolments_visible_to(person), pk=pk)
    attempt = act_or_say(request, start_attempt, actor=person, enrolment=enrolment)
    if attempt is None:
        return redirect("run", enrolment.run_id)
    return redirect("attempt_score", attempt.pk)
