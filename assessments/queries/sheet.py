"""The score sheet of one assessor on one attempt: what is scored, what is next, what waits."""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from assessments.engine.findings import hold_points
from assessments.engine.kinds import CriterionResult
from assessments.engine.observations import load_observations
from assessments.engine.rule import decides_alone
from assessments.engine.standard import Standard, load_standard
from assessments.models import Attempt, Observation
from assessments.queries.attempts import document_of
from assessments.queries.in_order import ahead_of, left_of
from assessments.subjects import (
    CRITERION,
    HOLD_POINT,
    Subject,
    find_subject,
    judge_subject,
    subjects_of,
)
from training.models import Person

UNSCORED = "unscored"
ACCEPTED = "accepted"


@dataclass(frozen=True)
class Line:
    """A subject and what this assessor found last; ``blocked_by`` is the hold point it waits for.

    ``observation`` may be one that takes the earlier back; ``result`` is then None.
    ``decides``: with this result the standard cannot be met, whatever else is scored.
    ``stands``: of a stage that is not made again; ``observation`` may then be another assessor's.
    """

    subject: Subject
    observation: Observation | None
    result: CriterionResult | None
    blocked_by: Subject | None
    accepted_by: str = ""
    decides: bool = False
    stands: bool = False

    @property
    def value(self) -> dict[str, Any] | None:
        """The value observed last, unless it was taken back."""
        return self.observation.value if self.observation and self.result else None

    @property
    def word(self) -> str:
        """The result; ``unscored`` before there is one."""
        if self.result:
            return self.result.result
        return "met" if self.accepted_by else UNSCORED

    @property
    def done(self) -> bool:
        """Whether nothing is left to enter here."""
        return self.word not in (UNSCORED, "missing")

    @property
    def fails_critical(self) -> bool:
        """Whether a critical criterion is not met as it stands."""
        critical = self.subject.critical and self.subject.kind != HOLD_POINT
        return critical and self.word == "not_met"


@dataclass(frozen=True)
class ScoreSheet:
    """Every subject of the standard, in the order of the work.

    ``others``: how many other assessors have scored a criterion; what they gave is not here.
    """

    attempt: Attempt
    standard: Standard
    lines: list[Line]
    holds: dict[str, str]
    others: int

    @property
    def asked(self) -> list[Line]:
        """The lines that are scored in this attempt: all but those of stages that stand."""
        return [line for line in self.lines if not line.stands]

    @property
    def begun_beside_another(self) -> bool:
        """Whether this assessor began, did not finish, and another one has scored as well."""
        begun = any(line.observation and line.subject.kind != HOLD_POINT for line in self.asked)
        return self.others > 0 and begun and self.todo > 0

    def line(self, kind: str, key: str) -> Line | None:
        """Return the line of a subject, or None."""
        return next(
            (each for each in self.lines if (each.subject.kind, each.subject.key) == (kind, key)),
            None,
        )

    def next_todo(self, after: Line | None = None) -> Line | None:
        """Return the next line to score, looking on from ``after`` and then from the start."""
        ahead = ahead_of(self.lines, after)
        return next((each for each in ahead if not each.done and not each.blocked_by), None)

    @property
    def todo(self) -> int:
        """How many lines are still to be scored."""
        return left_of(self.lines)

    @property
    def waiting(self) -> int:
        """How many of these wait behind a hold point."""
        return sum(not each.done and each.blocked_by is not None for each in self.lines)


def score_sheet(attempt: Attempt, assessor: Person) -> ScoreSheet:
    """Return the sheet (one query); ``attempt.standard`` must be loaded."""
    document = attempt.standard.document
    standard = load_standard(document)
    rows = list(
        attempt.observations.select_related("assessor").order_by("received_at", "seq", "pk")
    )
    holds = hold_points(standard, load_observations(document_of(attempt, rows), standard))
    replaced = {row.replaces_id for row in rows}
    current = [row for row in rows if row.pk not in replaced]
    # Of a stage that stands everything was taken over, and nothing else is taken in.
    carried = [row for row in current if row.carried_from_id]
    standing = {(row.subject_kind, row.subject_key): row for row in reversed(carried)}
    own = {(row.subject_kind, row.subject_key): row for row in current if row.assessor == assessor}
    subjects = subjects_of(document)
    lines = [
        _stands(standard, subject, own.get(place) or standing[place])
        if (place := (subject.kind, subject.key)) in standing
        else _line(standard, subject, own, current, _waits_for(standard, subjects, subject, holds))
        for subject in subjects
    ]
    scored = {
        row.assessor_id
        for row in current
        if row.subject_kind == CRITERION and not row.carried_from_id
    }
    return ScoreSheet(attempt, standard, lines, holds, len(scored - {assessor.pk}))


def _stands(standard: Standard, subject: Subject, row: Observation) -> Line:
    result = judge_subject(standard, subject.kind, subject.key, row.value)
    return Line(subject, row, result, None, stands=True)


def _line(
    standard: Standard,
    subject: Subject,
    own: dict[tuple[str, str], Observation],
    current: Iterable[Observation],
    blocked_by: Subject | None,
) -> Line:
    observation = own.get((subject.kind, subject.key))
    result = None
    if observation is not None and not observation.value.get("cleared"):
        result = judge_subject(standard, subject.kind, subject.key, observation.value)
    others = ""
    if subject.kind == HOLD_POINT and result is None:
        # The work of the next steps hides it: one assessor's word counts for the second too.
        others = ", ".join(
            str(row.assessor)
            for row in current
            if (row.subject_kind, row.subject_key) == (subject.kind, subject.key)
            and row.value.get("accepted")
        )
    decides = bool(
        result
        and subject.kind == CRITERION
        and decides_alone(standard, standard.criterion(subject.key), result)
    )
    return Line(subject, observation, result, blocked_by, others, decides)


def _waits_for(
    standard: Standard, subjects: list[Subject], subject: Subject, holds: dict[str, str]
) -> Subject | None:
    for stage in standard.stages[: subject.stage]:
        if stage.hold_point and holds[stage.key] != ACCEPTED:
            return find_subject(subjects, HOLD_POINT, stage.key)
    return None
