"""Facts about who is taught, and what."""

from training.models.employment import EmploymentOffer
from training.models.log import LogEntry
from training.models.people import Employment, Organisation, Person, Role
from training.models.programs import Module, Outcome, Program
from training.models.runs import CourseRun, Enrolment, Site

__all__ = [
    "CourseRun",
    "Employment",
    "EmploymentOffer",
    "Enrolment",
    "LogEntry",
    "Module",
    "Organisation",
    "Outcome",
    "Person",
    "Program",
    "Role",
    "Site",
]
