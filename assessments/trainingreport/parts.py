"""The parts of a training report: what each one is called, and what it tells by itself."""

from dataclasses import dataclass

from django.utils.translation import gettext_noop as N_


@dataclass(frozen=True)
class Part:
    """A part; ``tells`` says to the author what is filled in and cannot be changed."""

    key: str
    heading: str
    tells: str


SITE, TAUGHT, ATTENDANCE, PROCEDURE = "site", "taught", "attendance", "procedure"
STANDARD, RESULTS, WORK, CAUTIONS, NEXT = "standard", "results", "work", "cautions", "next"
PARTS: tuple[Part, ...] = (
    Part(
        SITE,
        N_("Site and scope"),
        N_("Site, owner, provider, days, program, its purpose and scope."),
    ),
    Part(
        TAUGHT,
        N_("What was taught"),
        N_("Modules with the hours asked and held, sessions, by whom."),
    ),
    Part(ATTENDANCE, N_("Attendance"), N_("How many took part, and their time in each module.")),
    Part(
        PROCEDURE,
        N_("The procedure, step by step"),
        N_("The photographs that you choose, by stage."),
    ),
    Part(
        STANDARD,
        N_("The passing standard"),
        N_("What had to be met, the digest of it, when it was sealed, and which panel fixed it."),
    ),
    Part(
        RESULTS, N_("Results"), N_("How many met the standard, and how each outcome was attained.")
    ),
    Part(
        WORK,
        N_("Who may do which work"),
        N_("The records issued on this run, and what they cover."),
    ),
    Part(CAUTIONS, N_("Cautions"), N_("The cautions of the task, each with its source.")),
    Part(NEXT, N_("What follows"), N_("Who may try again, and what keeps the records counting.")),
)
BY_KEY = {part.key: part for part in PARTS}
# Photographs of the log that were tied to no stage stand below this heading.
NO_STAGE, NO_STAGE_TITLE = "", N_("Around the work")
