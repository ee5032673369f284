"""What this app holds about a person."""

from collections.abc import Iterator

from django.db.models.fields.files import FieldFile
from django.utils.translation import gettext_noop as N_

from assessments.models import (
    Acknowledgement,
    Attempt,
    Authorisation,
    CalibrationScore,
    CalibrationSitting,
    Decision,
    Judge,
    Judgement,
    LoggedEvidence,
    Observation,
    Pack,
    PaperSheet,
    Photo,
    PhotoBytes,
    PlanItem,
    PracticePiece,
    PracticePlan,
    PracticeScore,
    Retake,
    RetakeDay,
    Review,
    ReviewPhoto,
    ReviewScore,
)
from training.privacy.own_parts import WROTE
from training.privacy.parts import Part, not_about, personal_data

SCORED = (
    "The row is about a trainee's work and exported for that trainee; who scored is its assessor."
)
DEVICE = "It is about what a device sent; the runs that the person took onto it are site_packs."


def photograph(row: Photo) -> Iterator[tuple[str, FieldFile]]:
    """Give the bytes of a photograph, which are kept apart from it."""
    kept = PhotoBytes.objects.filter(pk=row.sha256).exclude(file="erased").first()
    if kept is not None:
        yield "file", kept.file


personal_data(
    Part("attempts", N_("Your attempts at the tasks."), Attempt, ("enrolment__person",)),
    Part(
        "observations",
        N_("What was scored of your work."),
        Observation,
        ("attempt__enrolment__person",),
    ),
    Part("decisions", N_("What was decided of it."), Decision, ("attempt__enrolment__person",)),
    Part(
        "photographs",
        N_("Photographs of your work."),
        Photo,
        ("attempt__enrolment__person",),
        files=photograph,
    ),
    Part(
        "score_sheets",
        N_("Paper sheets on which your work was scored."),
        PaperSheet,
        ("attempt__enrolment__person",),
    ),
    Part(
        "logged_evidence",
        N_("Entries of the site log that show your work."),
        LoggedEvidence,
        ("attempt__enrolment__person",),
    ),
    Part("acknowledgements", N_("Which results you read."), Acknowledgement, ("person",)),
    Part(
        "practice_plans",
        N_("What was agreed to be practised."),
        PracticePlan,
        ("attempt__enrolment__person",),
    ),
    Part(
        "practice_items",
        N_("What is in those plans."),
        PlanItem,
        ("plan__attempt__enrolment__person",),
    ),
    Part("practice_pieces", N_("Pieces made for practice."), PracticePiece, ("enrolment__person",)),
    Part(
        "practice_scores",
        N_("What was seen on those pieces."),
        PracticeScore,
        ("piece__enrolment__person",),
    ),
    Part("retakes", N_("Attempts made again."), Retake, ("attempt__enrolment__person",)),
    Part(
        "retake_days", N_("When they were to be made."), RetakeDay, ("attempt__enrolment__person",)
    ),
    Part("reviews", N_("The reviews you asked for, and what came of them."), Review, ("asked_by",)),
    Part(
        "review_photographs",
        N_("Photographs you handed in with a review."),
        ReviewPhoto,
        ("review__asked_by",),
    ),
    Part(
        "review_scores",
        N_("How your work was scored again."),
        ReviewScore,
        ("review__asked_by",),
    ),
    Part("authorisations", N_("What you may sign off."), Authorisation, ("assessor",)),
    Part("sittings", N_("Your goes at reference pieces."), CalibrationSitting, ("assessor",)),
    Part("sitting_scores", N_("What you scored there."), CalibrationScore, ("sitting__assessor",)),
    Part("panel_seats", N_("Your seats on panels."), Judge, ("person",)),
    Part("judgements", N_("What you judged there."), Judgement, ("judge__person",)),
    Part("site_packs", N_("The runs you took onto devices."), Pack, ("assessor",)),
)
not_about(
    SCORED,
    "assessments.Observation.assessor",
    "assessments.Photo.assessor",
    "assessments.PaperSheet.assessor",
    "assessments.PracticeScore.by",
    "assessments.Review.reviewer",
    "assessments.ReviewScore.by",
)
not_about(DEVICE, "assessments.SetAside.assessor", "assessments.DeviceLoss.assessor")
not_about(
    WROTE,
    "assessments.SealedStandard.sealed_by",
    "assessments.Attempt.started_by",
    "assessments.Decision.decided_by",
    "assessments.ReferencePiece.made_by",
    "assessments.AssessorRequirement.set_by",
    "assessments.Authorisation.by",
    "assessments.EvidenceReport.made_by",
    "assessments.LoggedEvidence.by",
    "assessments.Panel.made_by",
    "assessments.Judge.invited_by",
    "assessments.JudgingRound.opened_by",
    "assessments.JudgingRound.closed_by",
    "assessments.Adoption.adopted_by",
    "assessments.PaperSheet.keyed_by",
    "assessments.TrainingReport.changed_by",
    "assessments.ReportFile.asked_by",
    "assessments.SetAsideAnswer.by",
    "assessments.DeviceLossAnswer.by",
    "assessments.Acknowledgement.witness",
    "assessments.PracticePlan.proposed_by",
    "assessments.PracticePlan.agreed_by",
    "assessments.PlanItem.done_by",
    "assessments.PracticePiece.recorded_by",
    "assessments.Retake.made_by",
    "assessments.RetakeDay.made_by",
    "assessments.Review.given_by",
)
