"""Criteria of every kind and values for them: on the limits, beside them, and unreadable."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from random import Random
from typing import Any

from assessments.engine.kinds import Measured
from assessments.engine.kinds.measured import STATISTICS
from assessments.engine.units import QUANTITIES, UNITS
from tests.engine import builders

Document = dict[str, Any]
DIMENSIONS = {
    "opening": {"value": "13/2", "unit": "in"},
    "joint": {"value": "10", "unit": "mm"},
}
FORMULAS = (
    {"lower": "opening - 2 * joint", "upper": "opening - joint"},
    {"lower": "joint / 3", "upper": None},
    {"lower": None, "upper": "opening / 7 + 1/8 in"},
)
DEFAULT_UNITS = {
    "length": ("mm", "in", "ft", "m", "um"),
    "area": ("mm2", "in2"),
    "volume": ("mL", "in3"),
    "mass": ("kg", "lb", "oz"),
    "time": ("s", "min"),
    "temperature": ("degC", "degF"),
    "angle": ("deg",),
    "ratio": ("%", "1"),
}
NUMBERS = ("0", "1/8", "0.5", "1", "5", "5.0", "19/3", "10", "21", "127/64", "100")
UNREADABLE: tuple[Any, ...] = (
    {}, [], None, "met", 3, {"readings": []}, {"readings": None}, {"readings": {}},
    {"readings": [], "more": 1}, {"readings": [{}]}, {"readings": ["5 mm"]}, {"readings": [None]},
    {"readings": [{"value": "5"}]}, {"readings": [{"value": 5, "unit": "mm"}]},
    {"readings": [{"value": "5", "unit": "mm", "typed": 5}]},
    {"readings": [{"value": "5", "unit": "mm", "other": "5"}]},
    {"readings": [{"value": "5", "unit": "parsec"}]}, {"readings": [{"value": "5", "unit": "kg"}]},
    *({"readings": [{"typed": "?", "value": each, "unit": "mm"}]} for each in (
        "", "1 1/2", "1e400", "NaN", "-1", "1/0", "0/0", "1/3", "5,5", ".5", "5.", "+5", " 5",
        "5\n", "1000000", "1000000.000001", "0.0000001", "9" * 30, "9" * 31, "1.5/2", "٣", "--1",
        "1/-2")),
    {"answer": None}, {"answer": "yes"}, {"answer": 1}, {"answer": True, "note": ""},
    {"level": -1}, {"level": 4}, {"level": True}, {"level": "1"}, {"level": None}, {"levels": 1},
    {"count": -1}, {"count": 10**9 + 1}, {"count": False}, {"count": "3"}, {"count": None},
    {"cleared": False}, {"cleared": 1}, {"cleared": True, "answer": True}, {"cleared": True},
    {"not_applicable": True}, {"not_applicable": True, "reason": ""},
    {"not_applicable": True, "reason": " \t"}, {"not_applicable": True, "reason": 3},
    {"not_applicable": False, "reason": "no access"},
    {"not_applicable": True, "reason": "no access", "more": 1},
    {"not_applicable": True, "reason": "  no access "}, {"end": None}, {"start": None},
    *({"start": each, "end": None} for each in (
        "", "now", "2026-05-04", "2026-05-04T09:30:00", "2026-02-30T09:30:00Z", "2026-13-01T00:00Z",
        "2026-05-04T24:00:00Z", "2026-05-04T09:60:00Z", "2026-05-04T09:30:60Z", "0000-01-01T00:00Z",
        "2026-05-04T09:30:00+24:00", "2026-05-04T09:30:00-23:59", "2026-05-04T09:30Z",
        "2026-05-04 09:30:00.123456789+05:45", "2026-05-04T09:30:00.5Z", "0001-01-01T00:00:00Z",
        "2024-02-29T23:59:59,25+00:00", "2023-02-29T23:59:59Z")),
    {"start": "2026-05-04T09:30:00Z", "end": "2026-05-04T09:30:00+00:01"},
    {"start": "2026-05-04T09:30:00Z", "end": "soon"},
    {"start": "2026-05-04T09:30:00Z", "end": 5},
    {"start": "2026-05-04T09:30:00Z"}, {"start": "2026-05-04T09:30:00Z", "stop": None},
)  # fmt: skip


def criteria(random: Random) -> Iterator[Document]:
    """Criteria of every kind; every statistic over every quantity among them."""
    yield from (builders.checked(), builders.checked(expected=False, not_applicable=True))
    yield builders.rated(not_applicable=True)
    yield builders.rated(points=("0", "1.5"), met_from=1)
    ends = ("Torn!", "Why?", "Left open…", "Flush", " Proud. ", "終わり。")
    levels = [{"points": str(i), "description": each} for i, each in enumerate(ends)]
    yield builders.rated(levels=levels, met_from=3)
    for lower, upper in ((None, "0"), (None, "2"), ("1", "1"), ("2", "4.0"), ("6/2", None)):
        yield builders.counted(lower=lower, upper=upper)
        yield builders.timed(lower=lower, upper=upper, unit=random.choice(("s", "h", "d")))
    yield from (builders.timed(lower="1/3", upper="7/9"), _without_unit(builders.timed()))
    for limits in FORMULAS:
        yield builders.measured(limits=limits, unit=random.choice(("in", "mm")))
        yield _guarded(random, limits=limits, readings=3, statistic="mean")
    for quantity, units in DEFAULT_UNITS.items():
        for statistic in STATISTICS:
            for unit in units:
                yield _guarded(
                    random,
                    limits=_limits(random),
                    quantity=quantity,
                    unit=unit,
                    readings=random.randint(1, 4),
                    statistic=statistic,
                )


def _without_unit(document: Document) -> Document:
    return {name: value for name, value in document.items() if name != "unit"}


def _limits(random: Random) -> Document:
    lower, upper = sorted((random.choice(NUMBERS), random.choice(NUMBERS)), key=Fraction)
    return random.choice(
        (
            {"lower": lower, "upper": upper},
            {"lower": lower, "upper": upper},
            {"lower": None, "upper": upper},
            {"lower": lower, "upper": None},
        )
    )


def _guarded(random: Random, **changes: Any) -> Document:
    """A measured criterion, three times out of four with a guard band."""
    document = builders.measured(**changes)
    document["instrument"] = {
        "name": "Rule",
        "maximum_permissible_error": random.choice(("0", "0.05", "1/100")),
        "resolution": random.choice(("0.1", "1/64", "0.01")),
        "ends": random.randint(1, 2),
    }
    if random.random() < 0.75:
        document["decision_rule"] = {"kind": "guard_band", "r": random.choice(("1", "0.5", "4/3"))}
    return document


def near_the_limits(random: Random, rule: Measured) -> Document:
    """Readings on the limits, on the guard band's edges, one base unit beside them, or anywhere."""
    marks = [end for end in (rule.limits.lower, rule.limits.upper) if end is not None]
    band = rule.guard_band_up
    steps = (0, 0, 1, -1, band, -band, band - 1, 1 - band, band + 1, -band - 1)
    start = random.choice((0, marks[0])) if rule.statistic == "spread" else 0
    readings = []
    for i in range(random.choice((rule.readings,) * 6 + (0, rule.readings - 1, rule.readings + 1))):
        base = start + random.choice(marks) + random.choice(steps)
        if rule.statistic == "spread" and i % 2:
            base = start
        if random.random() < 0.2:
            base = random.choice(marks) * Fraction(random.randint(0, 40), 20)
        readings.append(reading(random, rule, Fraction(base)))
    return {"readings": readings}


def reading(random: Random, rule: Measured, base: Fraction) -> Document:
    """A reading in some unit of the quantity; a length to the next nanometre."""
    fit = [name for name, unit in UNITS.items() if unit.dimension == QUANTITIES[rule.quantity]]
    unit = rule.unit if random.random() < 0.6 else random.choice(fit)
    if rule.quantity == "length":
        base = Fraction(round(base))
    value = str(UNITS[unit].from_base(base))
    return {"typed": value, "value": value, "unit": unit}
