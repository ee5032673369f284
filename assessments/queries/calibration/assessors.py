"""The assessors of a program: what each has reached, and who may sign off until when."""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from django.db.models import Exists, F, OuterRef, Q, QuerySet
from django.utils import timezone

from assessments.comparison import Tally, tally
from assessments.models import (
    AssessorRequirement,
    Authorisation,
    CalibrationSitting,
    ReferencePiece,
)
from assessments.queries.calibration.authority import may_sign, newest_of_each, requirement_of
from assessments.queries.calibration.standing import (
    Sat,
    Standing,
    compared,
    finished_sittings,
    standing,
)
from training.models import CourseRun, Person, Program, Role


@dataclass(frozen=True)
class AssessorRow:
    """One assessor; ``standing`` is None where the program asks for nothing.

    ``assesses`` is False for who neither leads nor teaches the program any more.
    """

    person: Person
    assesses: bool
    sat: Sequence[Sat]
    standing: Standing | None
    newest: Authorisation | None
    today: date

    @property
    def tally(self) -> Tally:
        """The figures that count today; without a requirement those of every sitting."""
        if self.standing is not None:
            return self.standing.tally
        return tally(row for each in self.sat for row in each.rows)

    @property
    def may_sign(self) -> bool:
        """Whether an authority stands today."""
        return may_sign(self.newest, self.today)

    @property
    def may_be_authorised(self) -> bool:
        """Whether the figures carry an authority that does not stand yet, or a longer one."""
        if self.standing is None or not self.standing.reached or not self.assesses:
            return False
        return not self.may_sign or self.newest is None or self.newest.until != self.standing.until


@dataclass(frozen=True)
class Assessors:
    """What the program asks for, its assessors by name, and its reference pieces."""

    program: Program
    requirement: AssessorRequirement | None
    rows: Sequence[AssessorRow]
    pieces: Sequence[ReferencePiece]


def assessors_of(program: Program) -> Assessors:
    """Return the assessors of the program (eight queries at most, however many there are)."""
    requirement, today = requirement_of(program), timezone.localdate()
    sat: dict[int, list[Sat]] = defaultdict(list)
    for sitting in finished_sittings([program]):
        sat[sitting.assessor_id].append(compared(sitting))
    newest = newest_of_each(program)
    people = _people(program, {*sat, *newest})
    rows = [
        AssessorRow(
            person,
            bool(person.assesses),
            sat[person.pk],
            standing(requirement, sat[person.pk], today) if requirement else None,
            newest.get(person.pk),
            today,
        )
        for person in people
    ]
    pieces = ReferencePiece.objects.filter(standard__program=program).select_related("standard")
    in_order = pieces.order_by(F("retired_at").desc(nulls_first=True), "title")
    return Assessors(program, requirement, rows, list(in_order.defer("standard__document")))


def assessor_row(program: Program, person: Person) -> AssessorRow | None:
    """Return one assessor of the program, or None (nine queries at most)."""
    found = _people(program, _known(program, person)).filter(pk=person.pk).first()
    if found is None:
        return None
    requirement, today = requirement_of(program), timezone.localdate()
    sat = [compared(sitting) for sitting in finished_sittings([program], person)]
    reached = standing(requirement, sat, today) if requirement else None
    newest = Authorisation.objects.filter(program=program, assessor=person).select_related("by")
    last = newest.order_by("-at", "-id").first()
    return AssessorRow(found, bool(found.assesses), sat, reached, last, today)


def _known(program: Program, person: Person) -> set[int]:
    """Return the person's key when sittings or an authority make an assessor of that person."""
    sat = CalibrationSitting.objects.filter(
        piece__standard__program=program, assessor=person, state=CalibrationSitting.State.FINISHED
    )
    given = Authorisation.objects.filter(program=program, assessor=person)
    return {person.pk} if sat.exists() or given.exists() else set()


def _people(program: Program, known: set[int]) -> QuerySet[Any]:
    """Return people: who leads or teaches the program, which ``assesses`` says, and ``known``."""
    role = Role.objects.filter(person=OuterRef("pk"), organisation=program.provider_id)
    teaches = CourseRun.objects.filter(program=program, instructors=OuterRef("pk"))
    return (
        Person.objects.annotate(
            leads=Exists(role.filter(kind=Role.Kind.LEAD)),
            assesses=Q(leads=True)
            | (Exists(role.filter(kind=Role.Kind.INSTRUCTOR)) & Exists(teaches)),
        )
        .filter(Q(assesses=True) | Q(pk__in=known))
        .order_by("full_name", "pk")
    )
