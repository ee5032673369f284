"""How long something may take, as people say it."""

import doctest

import pytest

from assessments import sentences
from assessments.templatetags.bankermark import limits


def test_the_examples_hold() -> None:
    assert doctest.testmod(sentences).failed == 0
    assert doctest.testmod(sentences).attempted >= 2


@pytest.mark.parametrize(
    ("lower", "upper", "unit", "said"),
    [
        ("1440", None, "min", "24 h or more"),
        (None, "90", "min", "1 h 30 min or less"),
        ("30", "1440", "min", "30 min to 24 h"),
        ("60", "60", "min", "1 h exactly"),
        (None, "59", "min", "59 min or less"),
        (None, "181/2", "min", "90.5 min or less"),
        (None, "7200", "s", "2 h or less"),
        (None, "90", "s", "90 s or less"),
        ("3/2", None, "h", "1 h 30 min or more"),
        ("2", None, "d", "48 h or more"),
        (None, "0", "min", "0 min or less"),
    ],
)
def test_limits_of_time_from_an_hour_on_are_hours(
    lower: str | None, upper: str | None, unit: str, said: str
) -> None:
    assert limits({"limits": {"lower": lower, "upper": upper}, "unit": unit}) == said


def test_other_limits_stay_as_they_are() -> None:
    assert limits({"limits": {"lower": None, "upper": "1440"}, "unit": "mm"}) == "1440 mm or less"
    assert limits({"limits": {"lower": None, "upper": "1440"}}) == "1440 or less"
