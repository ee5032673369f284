"""Who has read a result and understood it, and whose result waits to be read."""

from collections.abc import Iterable
from datetime import timedelta

from django.urls import reverse
from django.utils import timezone
from django.utils.formats import date_format
from django.utils.translation import gettext as _

from assessments.models import Acknowledgement, Attempt, Decision
from assessments.queries.after_result import after_result
from assessments.queries.attempts import counting_decisions
from assessments.queries.past import Past
from training.models import Person
from training.queries.todo import Todo, todo_source

# A result that nobody acknowledged is not held out for ever: acknowledging is nobody's duty.
REMINDED = timedelta(days=60)


@after_result
def acknowledgement(
    attempt: Attempt, decision: Decision | None, past: Past, person: Person
) -> dict[str, Acknowledgement | None]:
    """Tell the page of a result who said when that it was read (one query)."""
    if decision is None:
        return {"acknowledgement": None}
    return {"acknowledgement": acknowledgement_of(decision)}


def acknowledgement_of(decision: Decision) -> Acknowledgement | None:
    """Return that the trainee read the decision (one query); None before."""
    return Acknowledgement.objects.filter(decision=decision).select_related("witness").first()


@todo_source
def results_to_read(person: Person, roles: frozenset[str]) -> Iterable[Todo]:
    """Tell a trainee which own results are new (one query)."""
    decisions = (
        counting_decisions()
        .filter(
            attempt__enrolment__person=person,
            acknowledgement__isnull=True,
            decided_at__gte=timezone.now() - REMINDED,
        )
        .defer("document", "observations")
        .select_related("attempt__enrolment__run__program")
        .order_by("decided_at")
    )
    for decision in decisions:
        program = decision.attempt.enrolment.run.program
        day = date_format(timezone.localtime(decision.decided_at), "j M Y")
        yield Todo(
            _("Read your result: {program}").format(program=program.title),
            _("Signed off on {day}. See what was seen, and what you can do now.").format(day=day),
            reverse("attempt", args=[decision.attempt_id]),
            _("See the result"),
        )
