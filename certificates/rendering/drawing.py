"""The number line of a measured criterion, in the record's typeface."""

from collections.abc import Mapping
from typing import Any

from django.utils.safestring import SafeString, mark_safe

from assessments.engine.kinds.measured import Measured
from assessments.engine.kinds.result import CriterionResult
from assessments.engine.numbers import number_text, root_text
from assessments.engine.standard import Criterion
from assessments.engine.units import UNITS
from assessments.numberline import number_line_svg

WIDTH = 830  # against letters of 15: letters of nearly 9 pt across the page
GENERIC_FACE = 'font-family="sans-serif"'
FACE = 'font-family="Source Sans 3"'


def number_line(
    criterion: Criterion, value: Mapping[str, Any], result: CriterionResult
) -> SafeString | None:
    """The drawing for one assessor's readings; None for a criterion that is not measured."""
    rule = criterion.rule
    if not isinstance(rule, Measured) or "readings" not in value:
        return None
    unit = UNITS[rule.unit]
    bases = rule.bases(dict(value))
    figures = {
        "unit": rule.unit,
        "lower": rule.limit_texts[0],
        "upper": rule.limit_texts[1],
        "guard_band": (
            root_text(rule.guard_band_square / unit.factor**2, 6) if rule.guard_band_square else None
        ),
        "readings": result.inputs["readings"],
        "values": [number_text(unit.from_base(base)) for base in rule.statistics(bases)],
        "statistic": rule.statistic,
        "result": result.result,
    }
    title = f"Number line. {criterion.title}. {result.sentence}"
    svg = number_line_svg(figures, title=title, width=WIDTH)
    return mark_safe(svg.replace(GENERIC_FACE, FACE, 1))
