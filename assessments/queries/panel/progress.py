"""How far each judge is in a round: how many, never what."""

from dataclasses import dataclass

from assessments.models import Judge, JudgingRound, Panel
from assessments.queries.panel.asked import asked_keys, current_judgements, with_cells


@dataclass(frozen=True)
class Progress:
    """How many entries of how many a seated judge has made in the round."""

    judge: Judge
    entered: int
    asked: int

    @property
    def missing(self) -> int:
        """How many are still to be entered."""
        return self.asked - self.entered


def progress_of(panel: Panel, round: JudgingRound) -> list[Progress]:
    """Return the progress of each seated judge, by name (at most six queries)."""
    keys = asked_keys([panel])[panel.pk]
    found = current_judgements([round])
    judges = panel.judges.filter(state=Judge.State.SEATED).select_related("person")
    progress = []
    for judge in judges.order_by("person__full_name", "pk"):
        own = found.get((round.pk, judge.pk), {})
        asked = with_cells(panel, keys, own)
        progress.append(Progress(judge, sum(key in own for key in asked), len(asked)))
    return progress
