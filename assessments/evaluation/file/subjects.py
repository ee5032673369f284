"""What a standard for certificate programs asks about, in our own words.

ASTM E2659-18 is such a standard. Its clauses are not quoted, and no clause number is given: they
are to be written beside each subject from the reader's own copy.
"""

from dataclasses import dataclass

from django.utils.translation import gettext_noop as N_


@dataclass(frozen=True)
class Subject:
    """One thing that is asked about."""

    key: str
    title: str
    asks: str


SUBJECTS = (
    Subject(
        "organisation",
        N_("Organisation and responsibility"),
        N_("Who answers for the program, and who may decide about it."),
    ),
    Subject(
        "needs", N_("Needs analysis"), N_("Why the program is taught, and how the need was found.")
    ),
    Subject(
        "plan",
        N_("Program plan"),
        N_("What the program is for, what it covers, and how it is run."),
    ),
    Subject("outcomes", N_("Intended outcomes"), N_("What a holder can do afterwards.")),
    Subject(
        "prerequisites",
        N_("Prerequisites"),
        N_("What a person has to bring, and that it was checked before the work began."),
    ),
    Subject(
        "design",
        N_("Design of the instruction"),
        N_("That the teaching serves every outcome, in a form that suits it."),
    ),
    Subject(
        "instructors",
        N_("Competence of the instructors"),
        N_("Why each instructor is fit to teach, with papers."),
    ),
    Subject(
        "materials",
        N_("Learning resources"),
        N_("What is taught from, in which version, and that it was reviewed."),
    ),
    Subject(
        "delivery",
        N_("Records of delivery"),
        N_("What was taught when, by whom, and who was there."),
    ),
    Subject(
        "method",
        N_("Assessment method, fixed beforehand"),
        N_("That the task and the way of scoring were fixed before the first attempt."),
    ),
    Subject(
        "standard",
        N_("Passing standard"),
        N_("How the passing standard was arrived at, and by whom."),
    ),
    Subject(
        "reliability",
        N_("Reliability of the scoring"),
        N_("That two assessors, or one on two days, would come to the same result."),
    ),
    Subject(
        "fairness",
        N_("Fairness and accommodation"),
        N_(
            "That all are treated alike, and that needs of single trainees are met without a lower "
            "standard."
        ),
    ),
    Subject(
        "integrity",
        N_("Integrity and security of the assessment"),
        N_("That results come from the named person's own work and cannot be changed unseen."),
    ),
    Subject(
        "certificate",
        N_("Content and issue of the certificate"),
        N_("What the certificate says, and that only who met the standard has one."),
    ),
    Subject(
        "validity",
        N_("Validity and renewal"),
        N_("How long a certificate holds, on what grounds, and how it is kept or taken back."),
    ),
    Subject(
        "retention",
        N_("Retention of records"),
        N_("What is kept, for how long, and how it is safe."),
    ),
    Subject(
        "privacy",
        N_("Privacy"),
        N_("What is held on a person, with what consent, and how it is handed out or erased."),
    ),
    Subject(
        "complaints",
        N_("Complaints and review"),
        N_("That who disagrees is heard by somebody else, and gets an answer."),
    ),
    Subject(
        "evaluation",
        N_("Evaluation and improvement"),
        N_("That the program is looked at after each run, and that something follows."),
    ),
    Subject(
        "versions",
        N_("Control of versions"),
        N_("Which version was in force when, and what changed."),
    ),
    Subject(
        "publicity",
        N_("Statements to the public"),
        N_("That nothing is promised which the certificate does not say."),
    ),
)
