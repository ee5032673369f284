"""Who may sign off under a program, and until when."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from uuid import UUID

from django.db.models import Exists, OuterRef, Q
from django.utils.translation import gettext as _

from assessments.models import AssessorRequirement, Attempt, Authorisation
from training.dates import day_text
from training.models import Person, Program, Role
from training.queries.fit import day_at


@dataclass(frozen=True)
class Authority:
    """Whether the program asks for an authority, and the newest word on this person's."""

    required: bool
    newest: Authorisation | None

    def holds(self, day: date) -> bool:
        """Say whether the person may sign off on ``day``; the last day is still good."""
        return not self.required or may_sign(self.newest, day)

    def why_not(self) -> str:
        """Return why the person may not sign off; only where that is so."""
        if self.newest is None:
            return _("You are not authorised to sign off under this program.")
        if not self.newest.granted:
            return _("Your authority to sign off was withdrawn: {reason}").format(
                reason=self.newest.reason
            )
        return _("Your authority to sign off ended on {until}.").format(
            until=day_text(self.newest.until)
        )


def may_sign(newest: Authorisation | None, day: date) -> bool:
    """Say whether the newest word on a person's authority lets that person sign on ``day``."""
    return bool(newest and newest.granted and newest.until and newest.until >= day)


def site_day(attempt: Attempt) -> date:
    """Return the day it is now on the clock of the attempt's site, which must be loaded."""
    return day_at(attempt.enrolment.run.site)


def requirement_of(program: Program | UUID) -> AssessorRequirement | None:
    """Return what the program asks of its assessors now (one query)."""
    return AssessorRequirement.objects.filter(program=program).order_by("-set_at", "-id").first()


def requirements_of(programs: Iterable[Program]) -> dict[UUID, AssessorRequirement]:
    """Return the requirement in force of each program that has one (one query)."""
    rows = AssessorRequirement.objects.filter(program__in=programs)
    newest = rows.order_by("program_id", "-set_at", "-id").distinct("program_id")
    return {row.program_id: row for row in newest}


def authority_of(program: Program | UUID, person: Person) -> Authority:
    """Return what ``person`` may do under the program (two queries, one without requirement)."""
    if not AssessorRequirement.objects.filter(program=program).exists():
        return Authority(False, None)
    rows = Authorisation.objects.filter(program=program, assessor=person)
    return Authority(True, rows.order_by("-at", "-id").first())


def newest_of_each(program: Program | UUID) -> dict[int, Authorisation]:
    """Return the newest word on each person's authority, by the person's key (one query)."""
    rows = Authorisation.objects.filter(program=program).select_related("assessor", "by")
    newest = rows.order_by("assessor_id", "-at", "-id").distinct("assessor_id")
    return {row.assessor_id: row for row in newest}


def who_may_sign(attempt: Attempt, day: date) -> list[Person]:
    """Return who may sign the attempt off on ``day``, by name: authorised, and able to assess it.

    Two queries; ``attempt.enrolment.run`` must be loaded.
    """
    newest = newest_of_each(attempt.standard.program_id)
    authorised = [key for key, row in newest.items() if may_sign(row, day)]
    run = attempt.enrolment.run
    role = Role.objects.filter(person=OuterRef("pk"), organisation=run.program.provider_id)
    able = Exists(role.filter(kind=Role.Kind.LEAD)) | (
        Exists(role.filter(kind=Role.Kind.INSTRUCTOR)) & Q(runs_taught=run)
    )
    people = Person.objects.filter(able, pk__in=authorised)
    return list(people.exclude(pk=attempt.enrolment.person_id).distinct().order_by("full_name"))
