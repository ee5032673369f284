"""Facts about the task, the standard, and what was scored and decided."""

from assessments.models.attempts import Attempt, Decision, Observation
from assessments.models.standard import PassRule, SealedStandard
from assessments.models.task import Criterion, CriterionOutcome, PracticalTask, Stage

__all__ = [
    "Attempt",
    "Criterion",
    "CriterionOutcome",
    "Decision",
    "Observation",
    "PassRule",
    "PracticalTask",
    "SealedStandard",
    "Stage",
]
