"""The parts of a training report: what each one is called, and what it tells by itself."""

from dataclasses import dataclass


@dataclass(frozen=True)
class Part:
    """A part; ``tells`` says to the author what is filled in and cannot be changed."""

    key: str
    heading: str
    tells: str


SITE, TAUGHT, ATTENDANCE, PROCEDURE = "site", "taught", "attendance", "procedure"
STANDARD, RESULTS, WORK, CAUTIONS, NEXT = "standard", "results", "work", "cautions", "next"
PARTS: tuple[Part, ...] = (
    Part(SITE, "Site and scope", "Site, owner, provider, days, program, its purpose and scope."),
    Part(TAUGHT, "What was taught", "Modules with the hours asked and held, sessions, by whom."),
    Part(ATTENDANCE, "Attendance", "How many took part, and their time in each module."),
    Part(PROCEDURE, "The procedure, step by step", "The photographs that you choose, by stage."),
    Part(
        STANDARD,
        "The passing standard",
        "What had to be met, the digest of it, when it was sealed, and which panel fixed it.",
    ),
    Part(RESULTS, "Results", "How many met the standard, and how each outcome was attained."),
    Part(WORK, "Who may do which work", "The records issued on this run, and what they cover."),
    Part(CAUTIONS, "Cautions", "The cautions of the task, each with its source."),
    Part(NEXT, "What follows", "Who may try again, and what keeps the records counting."),
)
BY_KEY = {part.key: part for part in PARTS}
# Photographs of the log that were tied to no stage stand below this heading.
NO_STAGE, NO_STAGE_TITLE = "", "Around the work"
