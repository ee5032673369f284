"""How dates, results, requirements and observations are said."""

from typing import Any

import pytest

from assessments.engine import judge
from assessments.engine.standard import load_standard
from certificates.rendering import RenderingError
from certificates.rendering.wording import (
    conditions_of_measurement,
    observation,
    requirement,
    say_instant,
    say_period,
    say_result,
    tied,
)
from tests.certificates.pdf.factory import make_standard

NBSP = "\N{NO-BREAK SPACE}"
STANDARD = load_standard(make_standard())


@pytest.mark.parametrize(
    ("start", "end", "said"),
    [
        ("2026-09-14", "2026-09-25", "September 14 to 25, 2026"),
        ("2026-09-28", "2026-10-02", "September 28, 2026 to October 2, 2026"),
        ("2026-09-14", "2026-09-14", "September 14, 2026"),
        ("2025-09-14", "2026-09-25", "September 14, 2025 to September 25, 2026"),
    ],
)
def test_periods(start: str, end: str, said: str) -> None:
    assert say_period(start, end) == said


def test_instants_keep_their_own_offset() -> None:
    assert say_instant("2026-08-30T09:15:00-04:00") == "August 30, 2026, 09:15 UTC-04:00"
    assert say_instant("2026-08-30T09:15:00Z") == "August 30, 2026, 09:15 UTC"


def test_results() -> None:
    assert say_result("within_guard_band") == "Within the guard band"
    assert say_result("no_minimum") == "No minimum set"
    with pytest.raises(RenderingError, match="result 'splendid' that is not known"):
        say_result("splendid")


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("5 23/32 in to 6 in", f"5{NBSP}23/32{NBSP}in to 6{NBSP}in"),
        ("3 in a row, 4 inches", f"3{NBSP}in a row, 4 inches"),
        ("70 % of 14", f"70{NBSP}% of 14"),
        ("12 criteria", "12 criteria"),
    ],
)
def test_numbers_keep_their_units(text: str, said: str) -> None:
    assert tied(text) == said


@pytest.mark.parametrize(
    ("key", "said"),
    [
        ("dust", "Yes."),
        ("joint", "Level 1 of 2 or higher: Joint full, but uneven or stained."),
        ("opening_depth", "The smallest of 4 readings: 3 in or more."),
        ("piece_width", "The mean of 3 readings: 5 23/32 in to 5 25/32 in."),
        ("pins", "2 or more (pins)."),
        ("pot_life", "30 min or less."),
    ],
)
def test_requirements(key: str, said: str) -> None:
    assert requirement(STANDARD.criterion(key)).replace(NBSP, " ") == said


def test_a_measurement_tells_its_source_instrument_and_rule() -> None:
    said = conditions_of_measurement(STANDARD.criterion("face"))
    assert said.startswith("Limits: Project specification 04 01 40")
    assert "Steel rule, 1/64 in divisions; permissible error" in said
    assert said.endswith("by 1 × the expanded uncertainty (guard band, JCGM 106, 8.3).")
    assert conditions_of_measurement(STANDARD.criterion("dust")) == ""


def test_readings_are_shown_as_typed() -> None:
    criterion = STANDARD.criterion("face")
    reading = {"typed": '1/32"', "value": "1/32", "unit": "in"}
    value: dict[str, Any] = {"readings": [reading, {**reading, "typed": ""}, reading]}
    assert observation(value, judge(criterion, value)) == 'Readings: 1/32", 1/32, 1/32".'
