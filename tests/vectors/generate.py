"""Write the cases' answers, as the engine in Python gives them, to the files beside this one.

    .venv/bin/python -m tests.vectors.generate

Run it after a change of the engine that is meant. The files are read by tests/site_js, which
holds static/site to them; tests/vectors/test_vectors.py sees that they are what the engine says.
"""

from __future__ import annotations

import json
from collections.abc import Iterable
from fractions import Fraction
from pathlib import Path
from random import Random
from typing import Any

from assessments.engine.canonical import check_plain
from assessments.engine.errors import EngineError
from assessments.engine.judge import judge_value
from assessments.engine.kinds import Measured
from assessments.engine.numberline import figures
from assessments.engine.quantities import base_text, difference_text, parse_length, parse_quantity
from assessments.engine.standard import Criterion, load_criterion, load_dimensions
from tests.vectors import documents, texts

FOLDER = Path(__file__).parent
Row = list[Any]
LENGTHS = documents.DEFAULT_UNITS["length"]


def lengths(random: Random) -> dict[str, list[Row]]:
    """``parse``: [typed, unit, value, unit found, nm], or [typed, unit, sentence] when refused.

    ``show``: [nm, unit, text].
    """
    asked = [(text, random.choice(LENGTHS)) for text in texts.HOSTILE]
    asked += texts.on_a_rule()
    asked += [(texts.typed(random, "length"), random.choice(LENGTHS)) for _ in range(1600)]
    asked += [
        (texts.spoilt(random, texts.typed(random, "length")), random.choice(LENGTHS))
        for _ in range(1600)
    ]
    sizes = [random.randrange(10 ** random.randint(1, 12)) for _ in range(300)]
    sizes += [396_875 * random.randrange(10_000) for _ in range(200)]
    return {
        "parse": [_length(text, unit) for text, unit in asked],
        "show": [[str(nm), unit, base_text(nm, unit)] for nm in sizes for unit in ("mm", "in")],
    }


def _length(text: str, unit: str) -> Row:
    try:
        found = parse_length(text, unit)
    except EngineError as error:
        return [text, unit, error.message]
    return [text, unit, found.as_reading()["value"], found.unit, str(found.nanometres)]


def quantities(random: Random) -> dict[str, list[Row]]:
    """``parse``: as for lengths, with the value in the base unit as a fraction.

    ``show``: [base, unit, text of the value, text of a difference so large].
    """
    asked, shown = [], []
    for quantity, units in documents.DEFAULT_UNITS.items():
        for text in texts.HOSTILE if quantity == "temperature" else texts.HOSTILE[::6]:
            asked.append((text, random.choice(units)))
        for _ in range(130):
            text = texts.typed(random, quantity)
            asked.append((text, random.choice(units)))
            asked.append((texts.spoilt(random, text), random.choice(units)))
        for _ in range(40):
            base = Fraction(random.randrange(10**9), random.choice((1, 1, 3, 64, 1000)))
            unit = random.choice(units)
            shown.append([str(base), unit, base_text(base, unit), difference_text(base, unit)])
    for count in range(1, 40):  # the mean of two readings to 1/64 in may lie between them
        base = Fraction(25_400_000 * count, 128)
        shown.append([str(base), "in", base_text(base, "in"), difference_text(base, "in")])
    return {"parse": [_quantity(text, unit) for text, unit in asked], "show": shown}


def _quantity(text: str, unit: str) -> Row:
    try:
        found = parse_quantity(text, unit)
    except EngineError as error:
        return [text, unit, error.message]
    return [text, unit, found.as_reading()["value"], found.unit, str(found.base)]


def judgements(random: Random) -> dict[str, list[Any]]:
    """``criteria``: {criterion, sums}. The rest are rows that begin with an index into them.

    ``judged``: [index, value, result, sentence]; ``refused``: [index, value, path, sentence];
    ``lines``: [index, value, positions and texts of the number line].
    """
    dimensions = load_dimensions(documents.DIMENSIONS)
    found: dict[str, list[Any]] = {"criteria": [], "judged": [], "refused": [], "lines": []}
    for i, document in enumerate(documents.criteria(random)):
        criterion = load_criterion(document, dimensions)
        rule = criterion.rule
        sums = sums_of(rule) if isinstance(rule, Measured) else None
        found["criteria"].append({"criterion": document, "sums": sums})
        for value in _values(random, criterion):
            judged, row = _judged(criterion, value)
            found[judged].append([i, value, *row])
        if isinstance(rule, Measured):
            readings = documents.near_the_limits(random, rule)["readings"]
            for count in (0, rule.readings):
                drawn = {"readings": readings[:count]}
                line = _line(criterion, drawn)
                if line is not None:
                    found["lines"].append([i, drawn, line])
    return found


def sums_of(rule: Measured) -> dict[str, Any]:
    """What a pack says of a measured criterion's limits, in the base unit of its quantity."""
    lower, upper = rule.limits.lower, rule.limits.upper
    square = rule.guard_band_square
    return {
        "lower_nm": None if lower is None else str(lower),
        "upper_nm": None if upper is None else str(upper),
        "guard_square": square and [str(square.numerator), str(square.denominator)],
        "unit": rule.unit,
    }


def _values(random: Random, criterion: Criterion) -> Iterable[Any]:
    rule = criterion.rule
    yield from random.sample(documents.UNREADABLE, 5)
    match rule.kind:
        case "measured":
            assert isinstance(rule, Measured)
            yield from (documents.near_the_limits(random, rule) for _ in range(12))
            return
        case "checked":
            yield from ({"answer": True}, {"answer": False})
        case "rated":
            yield from ({"level": level} for level in range(-1, 7))
        case "counted":
            yield from ({"count": count} for count in (0, 1, 2, 3, 4, 5, 10**9))
        case _:
            start = "2026-10-31T23:59:59.999999-04:00"
            for end in (
                "2026-10-31T23:59:59.999999-04:00", "2026-11-01T00:00:00-04:00",
                "2026-11-01T00:00:00.999999-04:00", "2026-11-01T00:00:01.999998-04:00",
                "2026-11-01T00:00:02-04:00", "2026-10-31T23:00:59.999999-05:00",
                "2026-11-01T00:59:59.999999-05:00", "2026-11-01T05:00:01.5Z",
                "2026-11-01T01:59:59.999998-04:00", "2026-11-02T00:00:00.000001-04:00",
                "2026-11-03T23:59:59.999999-04:00", "2028-02-29T12:00:00+14:00",
            ):  # fmt: skip
                yield {"start": start, "end": end}
    yield from documents.UNREADABLE


def _judged(criterion: Criterion, value: Any) -> tuple[str, Row]:
    check_plain(value)
    try:
        found = judge_value(criterion, value)
    except EngineError as error:
        return "refused", [error.path, error.message]
    return "judged", [found.result, found.sentence]


def _line(criterion: Criterion, value: Any) -> dict[str, Any] | None:
    try:
        found = figures(criterion, value)
    except EngineError:
        return None

    def position(name: str) -> float | None:
        return None if found[name] is None else round(found[name]["position"], 7)

    return {
        "lower": position("lower"),
        "upper": position("upper"),
        "guardLower": position("guard_lower"),
        "guardUpper": position("guard_upper"),
        "readings": [round(mark["position"], 7) for mark in found["readings"]],
        "values": [round(mark["position"], 7) for mark in found["values"]],
        "texts": {
            name: found[name] and found[name]["text"] for name in ("start", "end", "lower", "upper")
        },
    }


def build() -> dict[str, str]:
    """The files' names and what they hold: one case a line, so that a change can be read."""
    made = {
        "lengths.json": lengths(Random(1959)),
        "quantities.json": quantities(Random(811)),
        "judgements.json": judgements(Random(106)),
    }
    return {name: _lines(parts) for name, parts in made.items()}


def _lines(parts: dict[str, list[Any]]) -> str:
    blocks = [
        f"{json.dumps(name)}: [\n"
        + ",\n".join(json.dumps(row, separators=(",", ":")) for row in rows)
        + "\n]"
        for name, rows in parts.items()
    ]
    return "{" + ",\n".join(blocks) + "}\n"


if __name__ == "__main__":
    for name, content in build().items():
        (FOLDER / name).write_text(content, encoding="ascii")
