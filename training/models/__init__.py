"""Facts about who is taught, and what."""

from training.models.documents import DocumentTakenBack, HeldDocument, Material
from training.models.employment import EmploymentOffer
from training.models.evaluation import Complaint, ProgramChange, Reaction, ReactionGiven
from training.models.help import GuideRead
from training.models.log import LogEntry
from training.models.people import Employment, Organisation, Person, Role
from training.models.privacy import Consent, Erasure
from training.models.programs import Module, Outcome, Program, ProgramPrerequisite
from training.models.runs import CourseRun, Enrolment, Site
from training.models.sessions import (
    Attendance,
    PersonFeed,
    Place,
    Question,
    Session,
    SessionInstructor,
    SignInCode,
)
from training.models.signing_in import Passkey, Pin, SignInAsked, SignInLink
from training.models.sitelog import Curing, LogNote, LogPhoto, MortarBatch

__all__ = [
    "Attendance",
    "Complaint",
    "Consent",
    "CourseRun",
    "Curing",
    "DocumentTakenBack",
    "Employment",
    "EmploymentOffer",
    "Enrolment",
    "Erasure",
    "GuideRead",
    "HeldDocument",
    "LogEntry",
    "LogNote",
    "LogPhoto",
    "Material",
    "Module",
    "MortarBatch",
    "Organisation",
    "Outcome",
    "Passkey",
    "Person",
    "PersonFeed",
    "Pin",
    "Place",
    "Program",
    "ProgramChange",
    "ProgramPrerequisite",
    "Question",
    "Reaction",
    "ReactionGiven",
    "Role",
    "Session",
    "SessionInstructor",
    "SignInAsked",
    "SignInCode",
    "SignInLink",
    "Site",
]
