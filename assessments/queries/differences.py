"""Where the assessors of one attempt differ, criterion by criterion."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from assessments.queries.report import Report, Seen


@dataclass(frozen=True)
class Difference:
    """A criterion, and what each assessor saw beside the name; None where it is not scored."""

    criterion: Mapping[str, Any]
    cells: Sequence[tuple[Seen | None, str]]


@dataclass(frozen=True)
class Differences:
    """The criteria on which results or scores differ, and how many several assessors scored."""

    assessors: Sequence[str]
    rows: Sequence[Difference]
    compared: int

    @property
    def agreed(self) -> int:
        """On how many criteria all who scored them came to the same."""
        return self.compared - len(self.rows)


def differences(report: Report) -> Differences | None:
    """Return where assessors differ; None where no criterion was scored by two (no query)."""
    criteria = [row for stage in report.stages for row in stage.criteria]
    several = [row for row in criteria if len(row.seen) > 1]
    if not several:
        return None
    names = {each.assessor_id: each.assessor for row in criteria for each in row.seen}
    order = sorted(names, key=lambda each: (names[each], each))
    rows = []
    for row in several:
        if len({(each.result, each.score) for each in row.seen}) > 1:
            by = {each.assessor_id: each for each in row.seen}
            rows.append(Difference(row.criterion, [(by.get(each), names[each]) for each in order]))
    return Differences([names[each] for each in order], rows, len(several))
