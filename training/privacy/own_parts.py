"""What this app holds about a person."""

from training.models import (
    Attendance,
    Complaint,
    Consent,
    CourseRun,
    Employment,
    EmploymentOffer,
    Enrolment,
    Erasure,
    GuideRead,
    HeldDocument,
    LogEntry,
    LogNote,
    LogPhoto,
    Passkey,
    Person,
    PersonFeed,
    Pin,
    Question,
    Role,
    SessionInstructor,
    SignInLink,
)
from training.privacy.parts import Part, not_about, personal_data

WROTE = "It says who wrote the row down; that the person did so is exported as log."
IN_CONFIDENCE = (
    "Whom a complaint concerns does not learn of it; local law says what that person may be told."
)
ANSWERED = "The row is what another person asked or said; that it was answered is exported as log."

personal_data(
    Part("person", "Who you are here.", Person, ("pk",), leave=("password",)),
    Part("roles", "What you may do, and for whom.", Role, ("person",)),
    Part("employments", "Who employs or employed you.", Employment, ("person",)),
    Part("offers", "Offers of employment made to you.", EmploymentOffer, ("person",)),
    Part("enrolments", "The course runs you were enrolled on.", Enrolment, ("person",)),
    Part("documents", "Papers you showed, with their files.", HeldDocument, ("person",)),
    Part("consents", "What you agreed to or refused.", Consent, ("person",)),
    Part("attendance", "When you came to sessions and left.", Attendance, ("person",)),
    Part("questions", "What you asked, and the answers.", Question, ("asked_by",)),
    Part("complaints", "What you complained of, and the answers.", Complaint, ("made_by",)),
    Part("runs_taught", "The course runs you teach.", CourseRun, ("instructors",)),
    Part("sessions_taught", "The sessions you teach.", SessionInstructor, ("person",)),
    Part("site_log", "What you wrote into site logs.", LogNote, ("by",)),
    Part("site_photographs", "The photographs you put there.", LogPhoto, ("note__by",)),
    Part(
        "calendar_addresses",
        "Addresses at which a calendar reads your sessions.",
        PersonFeed,
        ("person",),
        leave=("token_sha256",),
    ),
    Part(
        "passkeys",
        "Passkeys with which you sign in.",
        Passkey,
        ("person",),
        leave=("credential_id", "public_key"),
    ),
    Part(
        "sign_in_links",
        "Links sent to you by which you sign in.",
        SignInLink,
        ("person",),
        leave=("token_sha256",),
    ),
    Part("pin", "That you have a PIN for a device.", Pin, ("person",), leave=("hashed",)),
    Part("guides_read", "The guides you put away.", GuideRead, ("person",)),
    Part("erasure", "That your data was erased.", Erasure, ("person",)),
    Part("log", "What you did here, as the log has it.", LogEntry, ("actor",)),
)
not_about(
    WROTE,
    "training.HeldDocument.seen_by",
    "training.DocumentTakenBack.by",
    "training.Material.uploaded_by",
    "training.EmploymentOffer.offered_by",
    "training.ProgramChange.decided_by",
    "training.Consent.by",
    "training.Erasure.by",
    "training.SignInCode.made_by",
    "training.Attendance.by",
    "training.Question.written_by",
    "training.MortarBatch.by",
    "training.Curing.by",
)
not_about(IN_CONFIDENCE, "training.Complaint.concerns")
not_about(ANSWERED, "training.Complaint.answered_by", "training.Question.answered_by")
