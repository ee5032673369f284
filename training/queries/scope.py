"""Who sees what of the training side; every getter returns one QuerySet, built without a query.

- A lead sees everything of the own provider.
- An instructor sees the runs that they teach, the enrolments on them, and their programs.
- A trainee sees the own enrolments and the programs of these, never the run with its others.
- A contractor's manager sees the people whom the own organisation employs today; results
  and records of these belong to the apps above.
- An owner's representative sees nothing of the training side.

What is not in a QuerySet does not exist for that person: views answer with 404.
"""

from django.db.models import CharField, Exists, OuterRef, Q, QuerySet, Value
from django.utils import timezone

from training.models import CourseRun, Employment, Enrolment, Organisation, Person, Program, Role

TRAINEE = "trainee"
# Roles held at another organisation than a provider; any lead gives them.
OUTSIDE = (Role.Kind.CONTRACTOR, Role.Kind.OWNER)


def roles_of(person: Person) -> frozenset[str]:
    """Return the kinds of role held anywhere, and ``trainee`` with any enrolment (one query)."""
    held = Role.objects.filter(person=person).values_list("kind", flat=True)
    enrolled = (
        Enrolment.objects.filter(person=person)
        .order_by()
        .values_list(Value(TRAINEE, CharField()), flat=True)
    )
    return frozenset(held.union(enrolled))


def is_lead(person: Person, organisation: Organisation) -> bool:
    """Say whether ``person`` leads training at ``organisation`` (one query)."""
    return _holds(person, organisation, Role.Kind.LEAD)


def is_instructor(person: Person, organisation: Organisation) -> bool:
    """Say whether ``person`` teaches for ``organisation`` (one query)."""
    return _holds(person, organisation, Role.Kind.INSTRUCTOR)


def provider_organisations(person: Person) -> QuerySet[Organisation]:
    """Return the providers that ``person`` leads training at."""
    return _organisations(person, Role.Kind.LEAD)


def contractor_organisations(person: Person) -> QuerySet[Organisation]:
    """Return the contractors whose crew ``person`` manages."""
    return _organisations(person, Role.Kind.CONTRACTOR)


def owner_organisations(person: Person) -> QuerySet[Organisation]:
    """Return the owners that ``person`` represents."""
    return _organisations(person, Role.Kind.OWNER)


def crew_visible_to(person: Person) -> QuerySet[Person]:
    """Return the people whom a contractor of ``person`` employs today."""
    return Person.objects.filter(Exists(employments_of_crew(person).filter(person=OuterRef("pk"))))


def employments_of_crew(person: Person) -> QuerySet[Employment]:
    """Return the employments, at the contractors of ``person``, that hold today."""
    today = timezone.localdate()
    return Employment.objects.filter(
        Q(until__isnull=True) | Q(until__gte=today),
        since__lte=today,
        organisation__in=contractor_organisations(person),
    )


def people_visible_to(person: Person) -> QuerySet[Person]:
    """Return whom a lead looks after: people with a role at, or an enrolment with, the own
    provider, contractors' managers and owners' representatives; nobody for anyone but a lead."""
    led = provider_organisations(person)
    holds = Role.objects.filter(
        Q(organisation__in=led) | Q(kind__in=OUTSIDE), person=OuterRef("pk")
    )
    enrolled = Enrolment.objects.filter(person=OuterRef("pk"), run__program__provider__in=led)
    return Person.objects.filter(Exists(led), Exists(holds) | Exists(enrolled))


def runs_visible_to(person: Person) -> QuerySet[CourseRun]:
    """Return the runs of the providers that ``person`` leads, and those that they teach."""
    taught = CourseRun.instructors.through.objects.filter(courserun=OuterRef("pk"), person=person)
    return CourseRun.objects.filter(
        Q(program__provider__in=provider_organisations(person))
        | Q(
            Exists(taught),
            program__provider__in=_organisations(person, Role.Kind.INSTRUCTOR),
        )
    )


def programs_visible_to(person: Person) -> QuerySet[Program]:
    """Return the programs led, taught on a run, or followed as a trainee."""
    followed = Enrolment.objects.filter(person=person, run__program=OuterRef("pk"))
    return Program.objects.filter(
        Q(provider__in=provider_organisations(person))
        | Q(pk__in=runs_visible_to(person).order_by().values("program"))
        | Exists(followed)
    )


def enrolments_visible_to(person: Person) -> QuerySet[Enrolment]:
    """Return the enrolments on the runs led or taught, and the own ones."""
    return Enrolment.objects.filter(
        Q(run__in=runs_visible_to(person).order_by().values("pk")) | Q(person=person)
    )


def _holds(person: Person, organisation: Organisation, kind: str) -> bool:
    return Role.objects.filter(person=person, organisation=organisation, kind=kind).exists()


def _organisations(person: Person, kind: str) -> QuerySet[Organisation]:
    held = Role.objects.filter(person=person, organisation=OuterRef("pk"), kind=kind)
    return Organisation.objects.filter(Exists(held)).order_by("name")
