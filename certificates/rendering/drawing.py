"""The number line of a measured criterion, in the record's typeface."""

from collections.abc import Mapping
from typing import Any

from django.utils.safestring import SafeString, mark_safe

from assessments.engine.kinds.measured import Measured
from assessments.engine.kinds.result import CriterionResult
from assessments.engine.numberline import figures
from assessments.engine.standard import Criterion
from assessments.numberline import number_line_svg

WIDTH = 830  # against letters of 15: letters of nearly 9 pt across the page
GENERIC_FACE = 'font-family="sans-serif"'
FACE = 'font-family="Source Sans 3"'


def number_line(
    criterion: Criterion, value: Mapping[str, Any], result: CriterionResult, *, assessor: str
) -> SafeString | None:
    """The drawing for one assessor's readings; None for a criterion that is not measured."""
    if not isinstance(criterion.rule, Measured) or "readings" not in value:
        return None
    title = f"Number line. {criterion.title}, seen by {assessor}. {result.sentence}"
    marks = {**figures(criterion, value), "result": result.result}
    svg = number_line_svg(marks, title=title, width=WIDTH)
    return mark_safe(svg.replace(GENERIC_FACE, FACE, 1))
