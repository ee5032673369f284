"""What an assessor has reached on the reference pieces of a program, by exact figures."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date

from django.db.models import Prefetch
from django.utils import timezone

from assessments.comparison import Compared, Tally, compare, shortfalls, tally
from assessments.engine.standard import load_standard
from assessments.models import AssessorRequirement, CalibrationScore, CalibrationSitting
from training.dates import months_later
from training.models import Person, Program

CURRENT = Prefetch("scores", CalibrationScore.objects.filter(replaced_by__isnull=True))


@dataclass(frozen=True)
class Sat:
    """A finished sitting and its criteria beside the agreed ones."""

    sitting: CalibrationSitting
    day: date
    rows: tuple[Compared, ...]

    @property
    def tally(self) -> Tally:
        """The figures of this sitting alone."""
        return tally(self.rows)


@dataclass(frozen=True)
class Standing:
    """What counts today, its figures, and a sentence for each thing that is still missing.

    ``counted`` are the sittings whose months are not over, each piece once: the first go at it,
    since the agreed scores are shown afterwards. ``until`` is the last day on which enough of
    them count; None while there are too few. ``missing`` is empty when everything is reached.
    """

    counted: tuple[Sat, ...]
    tally: Tally
    until: date | None
    missing: tuple[str, ...]

    @property
    def reached(self) -> bool:
        """Whether everything asked for is reached."""
        return not self.missing


def finished_sittings(
    programs: Iterable[Program], assessor: Person | None = None
) -> list[CalibrationSitting]:
    """Return finished sittings, oldest first, with piece, standard and scores (four queries)."""
    sittings = CalibrationSitting.objects.filter(
        piece__standard__program__in=programs, state=CalibrationSitting.State.FINISHED
    ).select_related("assessor")
    if assessor is not None:
        sittings = sittings.filter(assessor=assessor)
    parts = ("piece__standard", CURRENT)
    return list(sittings.prefetch_related(*parts).order_by("finished_at", "id"))


def compared(sitting: CalibrationSitting) -> Sat:
    """Return a finished sitting beside the agreed scores; ``scores`` are the current ones."""
    piece = sitting.piece
    given = {score.criterion: score.value for score in sitting.scores.all()}
    rows = compare(load_standard(piece.standard.document), piece.agreed, given)
    assert sitting.finished_at is not None
    return Sat(sitting, timezone.localdate(sitting.finished_at), tuple(rows))


def standing(
    requirement: AssessorRequirement, sat: Sequence[Sat], today: date | None = None
) -> Standing:
    """Return what one assessor's sittings on the program come to ``today``; no query."""
    day = today or timezone.localdate()
    counted: dict[object, Sat] = {}
    for each in sorted(sat, key=lambda each: (each.day, str(each.sitting.finished_at))):
        if months_later(each.day, requirement.months) >= day:
            counted.setdefault(each.sitting.piece_id, each)
    kept = tuple(counted.values())
    found = tally(row for each in kept for row in each.rows)
    until = None
    if len(kept) >= requirement.pieces:
        needed = sorted(each.day for each in kept)[-requirement.pieces]
        until = months_later(needed, requirement.months)
    return Standing(kept, found, until, tuple(shortfalls(requirement, len(kept), found)))
