"""Who took part in a run, and by which name a report may call each of them."""

from collections.abc import Sequence
from dataclasses import dataclass

from django.db.models import Q

from training.models import Consent, CourseRun, Enrolment, Person, SessionInstructor
from training.queries.consents import consents_of

TOOK_PART = (Enrolment.State.ENROLLED, Enrolment.State.WITHDRAWN)


@dataclass(frozen=True)
class People:
    """The people of a run; ``labels`` by the person's id is the only name a report knows.

    ``trainees`` in the order in which they were enrolled; ``named`` the ids of who agreed to
    stand there with the name. ``unseen`` are the full names of those
    who did not agree to be seen in photographs: for the author's eyes, never for the report.
    """

    trainees: Sequence[Enrolment]
    labels: dict[int, str]
    named: frozenset[int]
    unseen: Sequence[str]

    @property
    def all_agreed(self) -> bool:
        """Whether everybody agreed to be seen in photographs."""
        return not self.unseen

    def label(self, person: int) -> str:
        """Return how the report calls a person; KeyError for one who has no part in the run."""
        return self.labels[person]


def people_of(run: CourseRun) -> People:
    """Return who took part in ``run`` (four queries).

    A name is used only where the newest answer to its use in reports is a consent; the others
    are numbered as they were enrolled, so that they keep their number from report to report.
    """
    trainees = list(
        run.enrolments.filter(state__in=TOOK_PART)
        .select_related("person")
        .order_by("enrolled_at", "pk")
    )
    learning = [each.person for each in trainees]
    taught = SessionInstructor.objects.filter(session__run=run).values("person")
    teaching = list(
        Person.objects.filter(Q(runs_taught=run) | Q(pk__in=taught)).distinct().order_by("pk")
    )
    agreed = consents_of([*learning, *teaching], run.program.provider)
    named = frozenset(key for key, said in agreed.items() if said[Consent.Kind.NAME_IN_REPORTS])
    labels: dict[int, str] = {}
    for word, group in (("Instructor", teaching), ("Trainee", learning)):
        for number, person in enumerate(group, start=1):
            labels[person.pk] = person.full_name if person.pk in named else f"{word} {number}"
    everybody = {person.pk: person for person in (*learning, *teaching)}
    unseen = sorted(
        person.full_name
        for key, person in everybody.items()
        if not agreed[key][Consent.Kind.PHOTOGRAPHS]
    )
    return People(trainees, labels, named, unseen)
