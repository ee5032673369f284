"""Facts about the task, the standard and its panel, and what was scored and decided."""

from assessments.models.attempts import Attempt, Decision, Observation
from assessments.models.calibration import (
    AssessorRequirement,
    Authorisation,
    CalibrationScore,
    CalibrationSitting,
    ReferencePiece,
)
from assessments.models.evidence import EvidenceReport
from assessments.models.feedback import (
    Acknowledgement,
    PlanItem,
    PracticePiece,
    PracticePlan,
    PracticeScore,
)
from assessments.models.logged import LoggedEvidence
from assessments.models.panel import Adoption, Judge, Judgement, JudgingRound, Panel
from assessments.models.paper import PaperObservation, PaperSheet
from assessments.models.qualification import QualificationRules
from assessments.models.reports import ReportFile, TrainingReport
from assessments.models.retakes import Retake, RetakeDay, SecondLookRules
from assessments.models.reviews import Review, ReviewPhoto, ReviewScore
from assessments.models.site import (
    DeviceLoss,
    DeviceLossAnswer,
    Pack,
    Photo,
    PhotoBytes,
    SendingCount,
    SetAside,
    SetAsideAnswer,
)
from assessments.models.standard import PassRule, SealedStandard
from assessments.models.task import Criterion, CriterionOutcome, PracticalTask, Stage

__all__ = [
    "Acknowledgement",
    "Adoption",
    "AssessorRequirement",
    "Attempt",
    "Authorisation",
    "CalibrationScore",
    "CalibrationSitting",
    "Criterion",
    "CriterionOutcome",
    "Decision",
    "DeviceLoss",
    "DeviceLossAnswer",
    "EvidenceReport",
    "Judge",
    "Judgement",
    "JudgingRound",
    "LoggedEvidence",
    "Observation",
    "Pack",
    "Panel",
    "PaperObservation",
    "PaperSheet",
    "PassRule",
    "Photo",
    "PhotoBytes",
    "PlanItem",
    "PracticalTask",
    "PracticePiece",
    "PracticePlan",
    "PracticeScore",
    "QualificationRules",
    "ReferencePiece",
    "ReportFile",
    "Retake",
    "RetakeDay",
    "Review",
    "ReviewPhoto",
    "ReviewScore",
    "SealedStandard",
    "SecondLookRules",
    "SendingCount",
    "SetAside",
    "SetAsideAnswer",
    "Stage",
    "TrainingReport",
]
