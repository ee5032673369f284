"""What a standard for certificate programs asks about, in our own words.

ASTM E2659-18 is such a standard. Its clauses are not quoted, and no clause number is given: they
are to be written beside each subject from the reader's own copy.
"""

from dataclasses import dataclass


@dataclass(frozen=True)
class Subject:
    """One thing that is asked about."""

    key: str
    title: str
    asks: str


SUBJECTS = (
    Subject(
        "organisation",
        "Organisation and responsibility",
        "Who answers for the program, and who may decide about it.",
    ),
    Subject("needs", "Needs analysis", "Why the program is taught, and how the need was found."),
    Subject("plan", "Program plan", "What the program is for, what it covers, and how it is run."),
    Subject("outcomes", "Intended outcomes", "What a holder can do afterwards."),
    Subject(
        "prerequisites",
        "Prerequisites",
        "What a person has to bring, and that it was checked before the work began.",
    ),
    Subject(
        "design",
        "Design of the instruction",
        "That the teaching serves every outcome, in a form that suits it.",
    ),
    Subject(
        "instructors",
        "Competence of the instructors",
        "Why each instructor is fit to teach, with papers.",
    ),
    Subject(
        "materials",
        "Learning resources",
        "What is taught from, in which version, and that it was reviewed.",
    ),
    Subject("delivery", "Records of delivery", "What was taught when, by whom, and who was there."),
    Subject(
        "method",
        "Assessment method, fixed beforehand",
        "That the task and the way of scoring were fixed before the first attempt.",
    ),
    Subject(
        "standard",
        "Passing standard",
        "How the passing standard was arrived at, and by whom.",
    ),
    Subject(
        "reliability",
        "Reliability of the scoring",
        "That two assessors, or one on two days, would come to the same result.",
    ),
    Subject(
        "fairness",
        "Fairness and accommodation",
        "That all are treated alike, and that needs of single trainees are met without a lower "
        "standard.",
    ),
    Subject(
        "integrity",
        "Integrity and security of the assessment",
        "That results come from the named person's own work and cannot be changed unseen.",
    ),
    Subject(
        "certificate",
        "Content and issue of the certificate",
        "What the certificate says, and that only who met the standard has one.",
    ),
    Subject(
        "validity",
        "Validity and renewal",
        "How long a certificate holds, on what grounds, and how it is kept or taken back.",
    ),
    Subject("retention", "Retention of records", "What is kept, for how long, and how it is safe."),
    Subject(
        "privacy",
        "Privacy",
        "What is held on a person, with what consent, and how it is handed out or erased.",
    ),
    Subject(
        "complaints",
        "Complaints and review",
        "That who disagrees is heard by somebody else, and gets an answer.",
    ),
    Subject(
        "evaluation",
        "Evaluation and improvement",
        "That the program is looked at after each run, and that something follows.",
    ),
    Subject(
        "versions",
        "Control of versions",
        "Which version was in force when, and what changed.",
    ),
    Subject(
        "publicity",
        "Statements to the public",
        "That nothing is promised which the certificate does not say.",
    ),
)
