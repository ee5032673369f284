"""Who reads a complaint: leads of the provider whom it does not concern, and whoever made it."""

from collections.abc import Iterable

from django.db.models import Case, Exists, IntegerField, OuterRef, Q, QuerySet, When
from django.urls import reverse
from django.utils.formats import date_format
from django.utils.translation import gettext as _

from training.models import Complaint, CourseRun, Enrolment, Person, Role
from training.queries.scope import provider_organisations, runs_visible_to
from training.queries.todo import Todo, todo_source


def complaints_visible_to(person: Person) -> QuerySet[Complaint]:
    """Return the complaints to the providers led, and the own ones; open ones first.

    An instructor does not see them: one may be about that instructor. Nor does a lead see one
    that is about that lead.
    """
    led = Q(provider__in=provider_organisations(person).order_by()) & ~_about(person)
    return (
        Complaint.objects.filter(led | Q(made_by=person))
        .select_related("provider", "run__program", "run__site", "made_by", "answered_by")
        .select_related("concerns")
        .annotate(
            is_open=Case(
                When(state=Complaint.State.OPEN, then=0), default=1, output_field=IntegerField()
            )
        )
        .order_by("is_open", "-made_at", "pk")
    )


def complaints_for_everybody(complaints: QuerySet[Complaint]) -> QuerySet[Complaint]:
    """Leave out what a lead of the provider must not learn of, wherever all leads read."""
    leads = Role.objects.filter(
        kind=Role.Kind.LEAD, organisation=OuterRef("provider"), person=OuterRef("concerns")
    )
    return complaints.exclude(Exists(leads))


def answerers_of(complaint: Complaint) -> QuerySet[Person]:
    """Return the leads who may answer: neither whom it concerns nor who made it."""
    leads = Role.objects.filter(
        kind=Role.Kind.LEAD, organisation=complaint.provider_id, person=OuterRef("pk")
    )
    out = [complaint.concerns_id, complaint.made_by_id]
    people = Person.objects.filter(Exists(leads), is_active=True)
    return people.exclude(pk__in=[key for key in out if key]).order_by("full_name", "pk")


def may_be_concerned(run: CourseRun, maker: Person) -> QuerySet[Person]:
    """Return whom a complaint about ``run`` can name: its leads and whoever teaches on it.

    Trainees are not listed: no trainee is shown the others here.
    """
    leads = Role.objects.filter(
        kind=Role.Kind.LEAD, organisation=run.program.provider_id, person=OuterRef("pk")
    )
    taught = CourseRun.instructors.through.objects.filter(courserun=run, person=OuterRef("pk"))
    return (
        Person.objects.filter(Exists(leads) | Exists(taught) | Q(teaching__session__run=run))
        .exclude(pk=maker.pk)
        .distinct()
        .order_by("full_name", "pk")
    )


def runs_complained_of_by(person: Person) -> QuerySet[CourseRun]:
    """Return the runs that ``person`` may complain about: led, taught, or with an own place."""
    own = Enrolment.objects.filter(run=OuterRef("pk"), person=person)
    visible = runs_visible_to(person).order_by().values("pk")
    return CourseRun.objects.filter(Q(pk__in=visible) | Exists(own))


@todo_source
def complaints_to_answer(person: Person, roles: frozenset[str]) -> Iterable[Todo]:
    """Tell a lead which complaints are open, but of none that is about that lead (one query)."""
    if Role.Kind.LEAD not in roles:
        return
    complaints = (
        Complaint.objects.filter(
            ~_about(person),
            provider__in=provider_organisations(person).order_by(),
            state=Complaint.State.OPEN,
        )
        .exclude(made_by=person)
        .select_related("provider", "run__program", "run__site")
        .order_by("made_at", "pk")
    )
    for complaint in complaints:
        about = complaint.run.program.title if complaint.run else str(complaint.provider)
        made = date_format(complaint.made_at, "j M Y")
        detail = _("Made {day}. It is not shown to instructors.").format(day=made)
        if complaint.concerns_id is not None:
            detail = _("Made {day}. It is shown neither to instructors nor to whom it concerns.")
            detail = detail.format(day=made)
        yield Todo(
            _title(complaint).format(about=about),
            detail,
            reverse("complaint", args=[complaint.pk]),
            _("Read and answer"),
        )


def _about(person: Person) -> Q:
    # A plain comparison would be NULL, and so leave the row out, where nobody is concerned.
    return Q(concerns__isnull=False, concerns=person)


def _title(complaint: Complaint) -> str:
    if complaint.kind == Complaint.Kind.CONDUCT:
        return _("Answer a complaint about how somebody behaved: {about}")
    if complaint.kind == Complaint.Kind.SAFETY:
        return _("Answer a complaint about safety: {about}")
    return _("Answer a complaint about {about}")
