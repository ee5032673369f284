"""Runs and enrolments as lists show them."""

from django.db.models import Count, Q, QuerySet

from training.models import CourseRun, Enrolment, Person
from training.queries.scope import runs_visible_to


def run_rows(person: Person, state: str = "") -> QuerySet[CourseRun]:
    """Return the visible runs with program, site, instructors and ``enrolled`` (two queries)."""
    rows = (
        runs_visible_to(person)
        .select_related("program__provider", "site")
        .prefetch_related("instructors")
        .annotate(enrolled=Count("enrolments", filter=Q(enrolments__state="enrolled")))
        .order_by("-starts_on", "id")
    )
    return rows.filter(state=state) if state else rows


def own_enrolments(person: Person) -> QuerySet[Enrolment]:
    """Return the enrolments of ``person``, the latest run first (one query)."""
    return (
        Enrolment.objects.filter(person=person)
        .select_related("run__program", "run__site", "employer")
        .order_by("-run__starts_on", "id")
    )
