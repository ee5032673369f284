"""Who reads a complaint: the leads of the provider, and whoever made it."""

from collections.abc import Iterable

from django.db.models import Case, Exists, IntegerField, OuterRef, Q, QuerySet, When
from django.urls import reverse

from training.models import Complaint, CourseRun, Enrolment, Person, Role
from training.queries.scope import provider_organisations, runs_visible_to
from training.queries.todo import Todo, todo_source


def complaints_visible_to(person: Person) -> QuerySet[Complaint]:
    """Return the complaints to the providers led, and the own ones; open ones first.

    An instructor does not see them: one may be about that instructor.
    """
    return (
        Complaint.objects.filter(
            Q(provider__in=provider_organisations(person).order_by()) | Q(made_by=person)
        )
        .select_related("provider", "run__program", "run__site", "made_by", "answered_by")
        .annotate(
            is_open=Case(
                When(state=Complaint.State.OPEN, then=0), default=1, output_field=IntegerField()
            )
        )
        .order_by("is_open", "-made_at", "pk")
    )


def runs_complained_of_by(person: Person) -> QuerySet[CourseRun]:
    """Return the runs that ``person`` may complain about: led, taught, or with an own place."""
    own = Enrolment.objects.filter(run=OuterRef("pk"), person=person)
    visible = runs_visible_to(person).order_by().values("pk")
    return CourseRun.objects.filter(Q(pk__in=visible) | Exists(own))


@todo_source
def complaints_to_answer(person: Person, roles: frozenset[str]) -> Iterable[Todo]:
    """Tell a lead which complaints are open (one query)."""
    if Role.Kind.LEAD not in roles:
        return
    complaints = (
        Complaint.objects.filter(
            provider__in=provider_organisations(person).order_by(), state=Complaint.State.OPEN
        )
        .select_related("run__program", "run__site")
        .order_by("made_at", "pk")
    )
    for complaint in complaints:
        about = complaint.run.program.title if complaint.run else "the provider"
        yield Todo(
            f"Answer a complaint about {about}",
            f"Made {complaint.made_at:%d %b %Y}. It is not shown to instructors.",
            reverse("complaint", args=[complaint.pk]),
            "Read and answer",
        )
