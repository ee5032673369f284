"""How dates, requirements and observations are said on a record."""

import re
from collections.abc import Mapping
from datetime import date, datetime
from typing import Any

from assessments.engine.kinds.checked import Checked
from assessments.engine.kinds.counted import Counted
from assessments.engine.kinds.measured import STATISTICS, Measured
from assessments.engine.kinds.rated import Rated
from assessments.engine.kinds.result import CriterionResult
from assessments.engine.kinds.timed import Timed
from assessments.engine.numbers import number_text
from assessments.engine.quantities import base_text, difference_text
from assessments.engine.standard import Criterion
from certificates.rendering.errors import RenderingError

_TIE = re.compile(r"(?<=\d) (?=[\d½]+/\d|(?:in|ft|mm|cm|m|min|h|s|kg|lb|°[CF])\b|%)")

RESULTS = {
    "met": "Met",
    "not_met": "Not met",
    "within_guard_band": "Within the guard band",
    "not_applicable": "Not applicable",
    "no_minimum": "No minimum set",
    "missing": "Not observed",
    "blocked": "Blocked by a hold point",
    "disagreed": "Assessors disagree",
}


def say_result(word: str) -> str:
    """A result of the documents for people; RenderingError for one that is not known."""
    if word not in RESULTS:
        raise RenderingError(f"The record has a result {word!r} that is not known: build it again.")
    return RESULTS[word]


def say_date(text: str) -> str:
    """A date or instant in ISO 8601 as its day, such as ``September 28, 2026``."""
    day = date.fromisoformat(text[:10])
    return f"{day:%B} {day.day}, {day.year}"


def say_instant(text: str) -> str:
    """An instant in ISO 8601 as it was written, such as ``August 30, 2026, 09:15 UTC-04:00``."""
    return f"{say_date(text)}, {datetime.fromisoformat(text):%H:%M %Z}"


def say_period(start: str, end: str) -> str:
    """Two dates as a period, such as ``September 14 to 25, 2026``."""
    first, last = say_date(start), say_date(end)
    if first == last:
        return first
    if start[:7] == end[:7]:
        return f"{first.partition(',')[0]} to {last.partition(' ')[2]}"
    return f"{first} to {last}"


def tied(text: str) -> str:
    """The same text, with no line broken between a number and its fraction or unit."""
    return _TIE.sub("\N{NO-BREAK SPACE}", text)


def requirement(criterion: Criterion) -> str:
    """What the standard asks for, in a sentence."""
    return tied(_requirement(criterion))


def _requirement(criterion: Criterion) -> str:
    match criterion.rule:
        case Measured() as rule:
            return _measured(rule)
        case Rated() as rule:
            top = len(rule.descriptions) - 1
            higher = " or higher" if rule.met_from < top else ""
            return f"Level {rule.met_from} of {top}{higher}: {rule.descriptions[rule.met_from]}"
        case Checked() as rule:
            return "Yes." if rule.expected else "No."
        case Counted() as rule:
            return f"{rule.limits.text(str)} ({rule.what})."
        case Timed() as rule:
            return f"{rule.limits.text(lambda base: base_text(base, rule.unit))}."


def _measured(rule: Measured) -> str:
    how = f"{STATISTICS[rule.statistic]} of {rule.readings} readings"
    if rule.readings == 1:
        how = "One reading"
    return f"{how}: {rule.limits.text(rule.show)}."


def conditions_of_measurement(criterion: Criterion) -> str:
    """Source of the limits, instrument and decision rule of a measured criterion; else empty."""
    rule = criterion.rule
    if not isinstance(rule, Measured):
        return ""
    parts = [f"Limits: {rule.source}."] if rule.source else []
    if rule.instrument is not None:
        error = difference_text(rule.instrument.maximum_permissible_error, rule.unit)
        parts.append(f"{rule.instrument.name}; permissible error {error}.")
    if rule.r is None:
        parts.append("Accepted within the limits (simple acceptance, JCGM 106, 8.2).")
    else:
        parts.append(
            f"Accepted inside the limits by {number_text(rule.r)} × the expanded uncertainty "
            "(guard band, JCGM 106, 8.3)."
        )
    return " ".join(parts)


def observation(value: Mapping[str, Any], result: CriterionResult) -> str:
    """What an assessor found; readings as they were typed."""
    readings = value.get("readings")
    if isinstance(readings, list):
        typed = ", ".join(reading.get("typed") or reading["value"] for reading in readings)
        return tied(f"{'Readings' if len(readings) != 1 else 'Reading'}: {typed}.")
    return tied(result.sentence)
