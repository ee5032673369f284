"""What this app holds about a person."""

from django.utils.translation import gettext_noop as N_

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
    Part("person", N_("Who you are here."), Person, ("pk",), leave=("password",)),
    Part("roles", N_("What you may do, and for whom."), Role, ("person",)),
    Part("employments", N_("Who employs or employed you."), Employment, ("person",)),
    Part("offers", N_("Offers of employment made to you."), EmploymentOffer, ("person",)),
    Part("enrolments", N_("The course runs you were enrolled on."), Enrolment, ("person",)),
    Part("documents", N_("Papers you showed, with their files."), HeldDocument, ("person",)),
    Part("consents", N_("What you agreed to or refused."), Consent, ("person",)),
    Part("attendance", N_("When you came to sessions and left."), Attendance, ("person",)),
    Part("questions", N_("What you asked, and the answers."), Question, ("asked_by",)),
    Part("complaints", N_("What you complained of, and the answers."), Complaint, ("made_by",)),
    Part("runs_taught", N_("The course runs you teach."), CourseRun, ("instructors",)),
    Part("sessions_taught", N_("The sessions you teach."), SessionInstructor, ("person",)),
    Part("site_log", N_("What you wrote into site logs."), LogNote, ("by",)),
    Part("site_photographs", N_("The photographs you put there."), LogPhoto, ("note__by",)),
    Part(
        "calendar_addresses",
        N_("Addresses at which a calendar reads your sessions."),
        PersonFeed,
        ("person",),
        leave=("token_sha256",),
    ),
    Part(
        "passkeys",
        N_("Passkeys with which you sign in."),
        Passkey,
        ("person",),
        leave=("credential_id", "public_key"),
    ),
    Part(
        "sign_in_links",
        N_("Links sent to you by which you sign in."),
        SignInLink,
        ("person",),
        leave=("token_sha256",),
    ),
    Part("pin", N_("That you have a PIN for a device."), Pin, ("person",), leave=("hashed",)),
    Part("guides_read", N_("The guides you put away."), GuideRead, ("person",)),
    Part("erasure", N_("That your data was erased."), Erasure, ("person",)),
    Part("log", N_("What you did here, as the log has it."), LogEntry, ("actor",)),
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
