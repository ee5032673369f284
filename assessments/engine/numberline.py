"""A measured criterion as a drawing: where limits, guard band and readings lie on a line."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from assessments.engine.errors import EngineError
from assessments.engine.kinds import Measured
from assessments.engine.numbers import Exact, number_text, tidy, to_fraction
from assessments.engine.standard import Criterion, load_criterion, load_dimensions
from assessments.engine.units import UNITS

MARGIN = to_fraction(1) / 8


def figures(
    criterion: Criterion | Mapping[str, Any],
    value: Mapping[str, Any] | None = None,
    dimensions: Mapping[str, Any] | None = None,
) -> dict[str, Any]:
    """What to draw for a measured criterion and an observation's ``value`` (or none).

    ``criterion`` and ``dimensions`` are as for ``judge``. Returns ``unit``, ``statistic``,
    ``start`` and ``end`` of the line, ``lower``, ``upper``, ``guard_lower``, ``guard_upper``
    (each None where there is none), ``readings`` in the order taken, and ``values``: what the
    limits are compared with. Each mark is ``{"exact", "text", "position"}``: the number in
    ``unit`` as exact text, the text to show, and its place from 0 to 1 on the line (a float, to
    draw with). The guard band's edges are rounded inwards to 1 nm.

    Raises EngineError for a criterion of another kind, and for readings that cannot be read.
    """
    if not isinstance(criterion, Criterion):
        criterion = load_criterion(criterion, load_dimensions(dict(dimensions or {})))
    rule = criterion.rule
    if not isinstance(rule, Measured):
        raise EngineError("kind", "Only a measured criterion can be drawn on a number line.")
    readings = rule.bases(dict(value)) if value is not None else []
    values = rule.statistics(readings) if readings else []
    accept = rule.acceptance() if rule.guard_band_square is not None else None
    # A spread is drawn by its own value: its readings lie elsewhere.
    shown = [] if rule.statistic == "spread" else readings
    marks = [rule.limits.lower, rule.limits.upper, *shown, *values]
    start, end = _ends([mark for mark in marks if mark is not None], rule)

    def mark(base: Exact | None) -> dict[str, Any] | None:
        if base is None:
            return None
        position = float(to_fraction(base - start) / (end - start))
        return {"exact": _exact(rule, base), "text": rule.show(base), "position": position}

    return {
        "unit": rule.unit,
        "statistic": rule.statistic,
        "start": mark(start),
        "end": mark(end),
        "lower": mark(rule.limits.lower),
        "upper": mark(rule.limits.upper),
        "guard_lower": mark(accept.lower) if accept else None,
        "guard_upper": mark(accept.upper) if accept else None,
        "readings": [mark(base) for base in shown],
        "values": [mark(base) for base in values],
    }


def _ends(marks: list[Exact], rule: Measured) -> tuple[Exact, Exact]:
    """Where the line starts and ends: an eighth beyond the outermost marks on each side."""
    low, high = min(marks), max(marks)
    if low == high:  # a lone limit: leave as much room on either side as it is large
        room: Exact = abs(to_fraction(low)) or to_fraction(UNITS[rule.unit].factor)
        low, high = low - room, high + room
    margin = (high - low) * MARGIN
    return tidy(max(low - margin, to_fraction(0))), tidy(high + margin)


def _exact(rule: Measured, base: Exact) -> str:
    unit = UNITS[rule.unit]
    if rule.statistic == "spread":
        return number_text(tidy(to_fraction(base) / unit.factor))
    return number_text(unit.from_base(base))
