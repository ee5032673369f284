"""The score sheet of a sitting: the criteria of the piece, what is scored, what is next."""

from collections.abc import Sequence
from dataclasses import dataclass

from assessments.engine.kinds import CriterionResult
from assessments.engine.standard import Standard, load_standard
from assessments.models import CalibrationScore, CalibrationSitting
from assessments.queries.in_order import left_of, line_of, next_of
from assessments.subjects import CRITERION, Subject, judge_subject, subjects_of


@dataclass(frozen=True)
class SittingLine:
    """A criterion of the piece, the current score, and what it comes to."""

    subject: Subject
    score: CalibrationScore | None
    result: CriterionResult | None

    @property
    def word(self) -> str:
        """The result; ``unscored`` before there is one."""
        return self.result.result if self.result else "unscored"

    @property
    def done(self) -> bool:
        """Whether nothing is left to enter here."""
        return self.word not in ("unscored", "missing")


@dataclass(frozen=True)
class SittingSheet:
    """The criteria of the piece in the order of the work."""

    sitting: CalibrationSitting
    standard: Standard
    lines: Sequence[SittingLine]

    def line(self, key: str) -> SittingLine | None:
        """Return the line of a criterion, or None."""
        return line_of(self.lines, key)

    def next_todo(self, after: SittingLine | None = None) -> SittingLine | None:
        """Return the next line to score, looking on from ``after`` and then from the start."""
        return next_of(self.lines, after)

    @property
    def todo(self) -> int:
        """How many lines are still to be scored."""
        return left_of(self.lines)


def sitting_sheet(sitting: CalibrationSitting) -> SittingSheet:
    """Return the sheet (one query); ``sitting.piece.standard`` must be loaded."""
    piece = sitting.piece
    standard = load_standard(piece.standard.document)
    current = sitting.scores.filter(replaced_by__isnull=True)
    scores = {score.criterion: score for score in current}
    lines = []
    for subject in subjects_of(piece.standard.document):
        if subject.kind != CRITERION or subject.key not in piece.agreed:
            continue
        score = scores.get(subject.key)
        result = None
        if score is not None:
            result = judge_subject(standard, CRITERION, subject.key, score.value)
        lines.append(SittingLine(subject, score, result))
    return SittingSheet(sitting, standard, lines)
