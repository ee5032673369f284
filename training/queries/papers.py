"""Who sees and looks after whose papers; every getter returns one QuerySet, without a query.

A lead looks after the papers shown to the own provider, those of its instructors among them. An
instructor looks after those of the trainees on the runs taught, and sees no instructor's
qualification. Everybody sees the own ones. Nobody vouches for the own papers.
"""

from django.db.models import Exists, OuterRef, Q, QuerySet
from django.utils.translation import gettext_noop as N_

from training.models import Enrolment, HeldDocument, Organisation, Person, ProgramPrerequisite, Role
from training.queries.scope import people_visible_to, provider_organisations, runs_visible_to

INSTRUCTOR = "instructor"  # the kind of an instructor's qualification
INSTRUCTOR_TITLE = N_("Instructor's qualification")


def documents_visible_to(person: Person) -> QuerySet[HeldDocument]:
    """Return the papers looked after, and the own ones."""
    return HeldDocument.objects.filter(_looked_after(person) | Q(person=person))


def documents_kept_by(person: Person) -> QuerySet[HeldDocument]:
    """Return the papers that ``person`` may take back."""
    return HeldDocument.objects.filter(_looked_after(person)).exclude(person=person)


def paper_holders(person: Person) -> QuerySet[Person]:
    """Return the people whose papers ``person`` looks after, the own person left out."""
    on_run = Enrolment.objects.filter(
        person=OuterRef("pk"), run__in=runs_visible_to(person).order_by().values("pk")
    )
    led = people_visible_to(person).order_by().values("pk")
    return Person.objects.filter(Exists(on_run) | Q(pk__in=led)).exclude(pk=person.pk)


def providers_for(actor: Person, person: Person) -> QuerySet[Organisation]:
    """Return the providers for which ``actor`` may keep a paper of ``person``."""
    taught = Enrolment.objects.filter(
        person=person,
        run__program__provider=OuterRef("pk"),
        run__in=runs_visible_to(actor).order_by().values("pk"),
    )
    teaches = Role.objects.filter(
        person=person, organisation=OuterRef("pk"), kind__in=(Role.Kind.INSTRUCTOR, Role.Kind.LEAD)
    )
    led = provider_organisations(actor).order_by().values("pk")
    return Organisation.objects.filter(Exists(taught) | Q(Exists(teaches), pk__in=led)).order_by(
        "name"
    )


def kinds_of(provider: Organisation) -> dict[str, str]:
    """Return the kinds of paper that the provider's programs ask for: title by key (one query).

    A key that programs title differently has the title of the program loaded last.
    """
    rows = ProgramPrerequisite.objects.filter(program__provider=provider)
    return dict(rows.order_by("program__loaded_at", "position").values_list("key", "title"))


def _looked_after(person: Person) -> Q:
    on_run = Enrolment.objects.filter(
        person=OuterRef("person"),
        run__program__provider=OuterRef("provider"),
        run__in=runs_visible_to(person).order_by().values("pk"),
    )
    led = provider_organisations(person).order_by().values("pk")
    return Q(provider__in=led) | (Q(Exists(on_run)) & ~Q(kind=INSTRUCTOR))
