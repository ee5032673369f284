"""The lead's desk of a panel: who judges and how far they are; no value before a round closes."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from assessments.models import Judge, JudgingRound, Panel
from assessments.queries.panel.judged import judged_document
from assessments.queries.panel.progress import Progress, progress_of
from assessments.queries.panel.spread import limits_of, placements_of, spread_of
from assessments.queries.program_document import program_document
from training.models import CourseRun

WELCOME_JUDGES = 5


@dataclass(frozen=True)
class Desk:
    """The judges by name, the rounds in order, and how far each judge is in the open one.

    ``sections`` show the last closed round by letter; empty before there is one.
    """

    judges: list[Judge]
    rounds: list[JudgingRound]
    sources: list[CourseRun]
    progress: list[Progress]
    sections: list[Mapping[str, Any]]

    @property
    def open(self) -> JudgingRound | None:
        """The round in which judges enter now."""
        return next((each for each in self.rounds if each.state == JudgingRound.State.OPEN), None)

    @property
    def closed(self) -> JudgingRound | None:
        """The round closed last."""
        closed = [each for each in self.rounds if each.state == JudgingRound.State.CLOSED]
        return closed[-1] if closed else None

    @property
    def seated(self) -> int:
        """How many judges have taken their seats."""
        return sum(judge.state == Judge.State.SEATED for judge in self.judges)

    @property
    def few(self) -> bool:
        """Whether there are fewer judges than make the mean of their estimates dependable."""
        return self.seated < WELCOME_JUDGES

    @property
    def missing(self) -> int:
        """How many entries are missing in the open round."""
        return sum(each.missing for each in self.progress)


def desk_of(panel: Panel) -> Desk:
    """Return the desk (constant number of queries for a state of the rounds)."""
    rounds = list(panel.rounds.select_related("opened_by", "closed_by").order_by("number"))
    judges = list(panel.judges.select_related("person").order_by("person__full_name", "pk"))
    desk = Desk(judges, rounds, list(panel.sources.select_related("site", "program")), [], [])
    if desk.open is not None:
        desk.progress.extend(progress_of(panel, desk.open))
    if desk.closed is not None:
        desk.sections.extend(sections_of(panel, desk.closed))
    return desk


def sections_of(panel: Panel, closed: JudgingRound) -> list[Mapping[str, Any]]:
    """Return what a closed round comes to, by letter."""
    document = judged_document(program_document(panel.program))
    sections: list[Mapping[str, Any]] = []
    if panel.method == Panel.Method.EBEL:
        sections.append(placements_of(panel, closed, document))
    sections.append(spread_of(panel, closed, document))
    if panel.sense_check:
        sections.append(limits_of(panel, closed))
    return sections
