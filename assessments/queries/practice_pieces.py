"""Practice pieces: who sees them, and the sheet of one."""

from collections.abc import Sequence
from dataclasses import dataclass

from django.db.models import Q, QuerySet

from assessments.engine.kinds import CriterionResult
from assessments.engine.standard import Standard, load_standard
from assessments.models import PracticePiece, PracticeScore
from assessments.queries.in_order import line_of
from assessments.subjects import CRITERION, Subject, judge_subject, subjects_of
from training.models import Person
from training.queries.scope import runs_visible_to


def pieces_visible_to(person: Person) -> QuerySet[PracticePiece]:
    """Return the pieces of the runs led or taught, and the own ones."""
    runs = runs_visible_to(person).order_by().values("pk")
    return PracticePiece.objects.filter(Q(enrolment__run__in=runs) | Q(enrolment__person=person))


@dataclass(frozen=True)
class PieceLine:
    """A criterion, what was seen of it on the piece, and what that comes to by itself."""

    subject: Subject
    score: PracticeScore | None
    result: CriterionResult | None

    @property
    def word(self) -> str:
        """The result; ``unscored`` before there is one, or after it was taken back."""
        if self.result is None or (self.score and self.score.value.get("cleared")):
            return "unscored"
        return self.result.result

    @property
    def done(self) -> bool:
        """Whether something was seen here."""
        return self.word not in ("unscored", "missing")


@dataclass(frozen=True)
class PieceSheet:
    """A practice piece with every criterion of its standard, in the order of the work."""

    piece: PracticePiece
    standard: Standard
    lines: Sequence[PieceLine]

    def line(self, key: str) -> PieceLine | None:
        """Return the line of a criterion, or None."""
        return line_of(self.lines, key)

    @property
    def seen(self) -> Sequence[PieceLine]:
        """The lines of which something was seen."""
        return [line for line in self.lines if line.word != "unscored"]


def piece_sheet(piece: PracticePiece) -> PieceSheet:
    """Return the sheet (one query); ``piece.standard`` must be loaded."""
    standard = load_standard(piece.standard.document)
    current = piece.scores.filter(replaced_by__isnull=True).select_related("by")
    scores = {score.criterion: score for score in current}
    lines = []
    for subject in subjects_of(piece.standard.document):
        if subject.kind != CRITERION:
            continue
        score = scores.get(subject.key)
        result = judge_subject(standard, CRITERION, subject.key, score.value) if score else None
        lines.append(PieceLine(subject, score, result))
    return PieceSheet(piece, standard, lines)
