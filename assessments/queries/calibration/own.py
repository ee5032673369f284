"""What is asked of one assessor over all programs: pieces to score, figures, authority."""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from uuid import UUID

from django.utils import timezone

from assessments.models import (
    AssessorRequirement,
    Authorisation,
    CalibrationSitting,
    ReferencePiece,
)
from assessments.queries.calibration.authority import may_sign, requirements_of
from assessments.queries.calibration.scope import programs_assessed_by
from assessments.queries.calibration.standing import (
    Sat,
    Standing,
    compared,
    finished_sittings,
    standing,
)
from training.dates import months_later
from training.models import Person, Program


@dataclass(frozen=True)
class PieceLine:
    """A reference piece in use; ``open`` is the own sitting on it, ``last`` the day of the last.

    ``again`` is the day after which it may be scored once more; None when it may be now, or, with
    a ``last``, never.
    """

    piece: ReferencePiece
    open: CalibrationSitting | None
    last: date | None
    again: date | None
    may_start: bool


@dataclass(frozen=True)
class OwnProgram:
    """One program that the person assesses; ``standing`` is None where it asks for nothing."""

    program: Program
    requirement: AssessorRequirement | None
    newest: Authorisation | None
    standing: Standing | None
    pieces: Sequence[PieceLine]
    sat: Sequence[Sat]
    today: date

    @property
    def may_sign(self) -> bool:
        """Whether the person may sign off under the program today."""
        return self.requirement is None or may_sign(self.newest, self.today)


def own_calibration(person: Person) -> list[OwnProgram]:
    """Return the programs that ask for something or have pieces (nine queries at most)."""
    programs = list(programs_assessed_by(person).select_related("provider").distinct())
    requirements, today = requirements_of(programs), timezone.localdate()
    newest = newest_of_own(person, programs)
    pieces: dict[UUID, list[ReferencePiece]] = defaultdict(list)
    in_use = ReferencePiece.objects.filter(standard__program__in=programs, retired_at__isnull=True)
    for piece in in_use.select_related("standard").defer("standard__document", "agreed"):
        pieces[piece.standard.program_id].append(piece)
    open_ones = {
        sitting.piece_id: sitting
        for sitting in CalibrationSitting.objects.filter(
            assessor=person, state=CalibrationSitting.State.OPEN
        )
    }
    sat: dict[UUID, list[Sat]] = defaultdict(list)
    for sitting in finished_sittings(programs, person):
        sat[sitting.piece.standard.program_id].append(compared(sitting))
    found = []
    for program in programs:
        key, asked = program.pk, requirements.get(program.pk)
        if asked is None and not pieces[key] and not sat[key]:
            continue
        last = {each.sitting.piece_id: each.day for each in sat[key]}
        lines = [_line(piece, open_ones, last, asked, today) for piece in pieces[key]]
        reached = standing(asked, sat[key], today) if asked else None
        found.append(
            OwnProgram(program, asked, newest.get(key), reached, lines, sat[key][::-1], today)
        )
    return found


def newest_of_own(person: Person, programs: Sequence[Program]) -> dict[UUID, Authorisation]:
    """Return the newest word on the person's authority under each program (one query)."""
    rows = Authorisation.objects.filter(assessor=person, program__in=programs)
    newest = rows.select_related("by").order_by("program_id", "-at", "-id").distinct("program_id")
    return {row.program_id: row for row in newest}


def _line(
    piece: ReferencePiece,
    open_ones: dict[UUID, CalibrationSitting],
    days: dict[UUID, date],
    asked: AssessorRequirement | None,
    today: date,
) -> PieceLine:
    last, again = days.get(piece.pk), None
    if last is not None and asked is not None:
        again = months_later(last, asked.months)
    may_start = last is None or (again is not None and today > again)
    return PieceLine(piece, open_ones.get(piece.pk), last, again, may_start)
