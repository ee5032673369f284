"""What is said of making an attempt again: below its result, and on the first page."""

from collections.abc import Iterable, Mapping
from datetime import timedelta
from typing import Any

from django.db.models import Exists, OuterRef, Q
from django.urls import reverse
from django.utils import timezone
from django.utils.formats import date_format
from django.utils.translation import gettext as _

from assessments.models import Attempt, Decision, RetakeDay
from assessments.queries.after_result import after_result
from assessments.queries.past import Past
from assessments.queries.retakes import latest_decided, retaking
from training.models import CourseRun, Person
from training.queries.scope import runs_visible_to
from training.queries.todo import Todo, todo_source

# So many days ahead an instructor is told of a retake.
AHEAD = timedelta(days=7)


@after_result
def retake_after(
    attempt: Attempt, decision: Decision | None, past: Past, person: Person
) -> Mapping[str, Any]:
    """Say what this attempt was made after, and of the latest one how it can be made again."""
    again = (each.retake for each in past.retakes)
    made = next((each for each in again if each.attempt_id == attempt.pk), None)
    titles = {row["key"]: row["title"] for row in attempt.standard.document["stages"]}
    said: dict[str, Any] = {
        "retaken": made,
        "retaken_stages": [titles[key] for key in made.carried] if made else [],
        "retake": None,
        "retake_stages": [],
    }
    if decision is not None and latest_decided(past.attempts) == attempt:
        found = retaking(attempt.enrolment, past, decision)
        assert found is not None  # this attempt was decided
        said["retake"] = found
        said["retake_stages"] = [titles[key] for key in found.again.stages]
    return said


@todo_source
def retakes_arranged(person: Person, roles: frozenset[str]) -> Iterable[Todo]:
    """Tell a trainee of the day arranged, an instructor of those of the next days (one query)."""
    today = timezone.localdate()
    taught = runs_visible_to(person).filter(instructors=person).order_by()
    later = Attempt.objects.filter(
        enrolment=OuterRef("attempt__enrolment"), number__gt=OuterRef("attempt__number")
    )
    rows = (
        RetakeDay.objects.filter(
            Q(attempt__enrolment__person=person) | Q(attempt__enrolment__run__in=taught)
        )
        .exclude(attempt__enrolment__run__state=CourseRun.State.CLOSED)
        .select_related("attempt__enrolment__person", "attempt__enrolment__run__program")
        .annotate(begun=Exists(later))
        .order_by("attempt__enrolment_id", "-made_at", "-pk")
        .distinct("attempt__enrolment_id")
    )
    for row in sorted(rows, key=lambda each: (each.day, each.pk)):
        own = row.attempt.enrolment.person_id == person.pk
        near = row.day <= today + AHEAD or own
        if near and row.day >= today and not row.cancelled and not row.begun:
            yield _todo(row, own=own)


def _todo(row: RetakeDay, *, own: bool) -> Todo:
    enrolment, day = row.attempt.enrolment, date_format(row.day)
    names = {"title": enrolment.run.program.title, "person": enrolment.person}
    if own:
        return Todo(
            _("Your retake of {title} on {day}").format(day=day, **names),
            _("Place: {place}.").format(place=row.place),
            reverse("attempt", args=[row.attempt_id]),
            _("What to practise"),
        )
    return Todo(
        _("Retake of {person} on {day}").format(day=day, **names),
        _("{title}. Place: {place}.").format(place=row.place, **names),
        reverse("attempt_retake", args=[row.attempt_id]),
        _("Look at it"),
    )
