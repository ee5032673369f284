"""What is known already about the rows of a file, in a constant number of queries."""

import difflib
from collections.abc import Iterable
from dataclasses import dataclass

from training.models import CourseRun, Employment, Enrolment, Organisation, Person
from training.queries.employment import not_over


@dataclass(frozen=True)
class Known:
    """People by address; by person: current employment, enrolment on the run; run's teachers."""

    people: dict[str, Person]
    employers: dict[int, Employment]
    enrolments: dict[int, Enrolment]
    teachers: frozenset[int]
    contractors: dict[str, Organisation]

    def contractor(self, name: str) -> Organisation | None:
        """Return the contractor of this name in whatever capitals, or None."""
        return self.contractors.get(name.casefold())

    def nearest(self, name: str) -> str | None:
        """Return the known contractor's name that is spelled most like ``name``, or None."""
        close = difflib.get_close_matches(name.casefold(), self.contractors, n=1)
        return self.contractors[close[0]].name if close else None


def known_about(run: CourseRun, emails: Iterable[str]) -> Known:
    """Return what is known about these addresses (five queries); locks the people's rows."""
    people = {
        person.email: person
        for person in Person.objects.select_for_update(no_key=True)
        .filter(email__in=list(emails))
        .order_by("pk")
    }
    ids = [person.pk for person in people.values()]
    return Known(
        people=people,
        employers={
            employment.person_id: employment
            # Of several, the earliest: the last that is put in.
            for employment in not_over(Employment.objects.filter(person__in=ids))
            .select_related("organisation")
            .order_by("-since")
        },
        enrolments={
            enrolment.person_id: enrolment
            for enrolment in Enrolment.objects.filter(run=run, person__in=ids)
        },
        teachers=frozenset(run.instructors.values_list("pk", flat=True)),
        contractors={organisation.name.casefold(): organisation for organisation in contractors()},
    )


def contractors() -> Iterable[Organisation]:
    """Return every contractor, by name."""
    return Organisation.objects.filter(kind=Organisation.Kind.CONTRACTOR).order_by("name")
