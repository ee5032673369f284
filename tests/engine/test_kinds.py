"""One observation of each kind, judged by itself, and the number line."""

from __future__ import annotations

from fractions import Fraction
from typing import Any

import pytest

from assessments.engine import EngineError, judge, load_standard, numberline
from tests.engine import builders


@pytest.mark.parametrize(
    ("criterion", "value", "result", "score", "sentence"),
    [
        (builders.rated(), {"level": 1}, "not_met", Fraction(1, 4),
         "Level 1: Worth 1. Needed is level 2 or higher."),
        (builders.rated(), {"level": 3}, "met", 1, "Level 3: Worth 4."),
        (builders.checked(), {"answer": False}, "not_met", 0, "No; needed is yes."),
        (builders.checked(expected=False), {"answer": False}, "met", 1, "No, as needed."),
        (builders.checked(expected=False), {"answer": True}, "not_met", 0, "Yes; needed is no."),
        (builders.counted(), {"count": 3}, "not_met", 0,
         "Counted 3 (voids); allowed: 2 or less. That is 1 too many."),
        (builders.counted(lower="2"), {"count": 1}, "not_met", 0,
         "Counted 1 (voids); allowed: 2 exactly. That is 1 too few."),
        (builders.timed(upper="90"), builders.minutes(95), "not_met", 0,
         "Took 95 min; allowed: 60 min to 90 min. That is 5 min too long."),
        (builders.timed(), builders.minutes(59), "not_met", 0,
         "Took 59 min; allowed: 60 min or more. That is 1 min too short."),
        (builders.timed(unit="h", lower="1/2"), builders.minutes(30), "met", 1,
         "Took 0.5 h; allowed: 0.5 h or more."),
        (builders.measured(), builders.readings("12"), "not_met", 0,
         "The reading: 12 mm; allowed: 5 mm to 10 mm. That is 2 mm too much."),
        (builders.measured(readings=2), builders.readings("12", "1"), "not_met", 0,
         "Each of 2 readings: 1 mm to 12 mm; allowed: 5 mm to 10 mm. "
         "That is 2 mm too much. That is 4 mm too little."),
        (builders.measured(readings=3, statistic="mean"), builders.readings("5", "5", "6"), "met",
         1, "The mean of 3 readings: about 5.333 mm; allowed: 5 mm to 10 mm."),
        (builders.measured(statistic="spread", readings=2), builders.readings("1", "7"), "met", 1,
         "The spread of 2 readings: 6 mm; allowed: 5 mm to 10 mm."),
        (builders.checked(not_applicable=True), {"not_applicable": True, "reason": "no access"},
         "not_applicable", None, "Not applicable: no access"),
        (builders.checked(), {"cleared": True}, "missing", None,
         "The observation was taken back."),
    ],
)  # fmt: skip
def test_judge(
    criterion: dict[str, Any], value: dict[str, Any], result: str, score: Any, sentence: str
) -> None:
    found = judge(criterion, value)
    assert (found.result, found.score, found.sentence) == (result, score, sentence)
    loaded = load_standard(builders.standard(criterion)).criteria[0]
    assert judge(loaded, value) == found


def test_inches_and_a_formula() -> None:
    criterion = builders.measured(
        unit="in", limits={"lower": None, "upper": "opening - 2 * joint"}, readings=1
    )
    dimensions = {
        "opening": {"value": "6", "unit": "in"},
        "joint": {"value": "1/8", "unit": "in"},
    }
    found = judge(criterion, builders.readings("5.75", unit="in"), dimensions)
    assert found.sentence == "The reading: 5 3/4 in; allowed: 5 3/4 in or less."
    # 146.05 mm = 5.75 in
    assert judge(criterion, builders.readings("146.05"), dimensions).result == "met"
    assert judge(criterion, builders.readings("146.050001"), dimensions).result == "not_met"
    with pytest.raises(EngineError, match="no dimension"):
        judge(criterion, builders.readings("5"))


def test_seconds_and_offsets_count() -> None:
    criterion = builders.timed(lower="1", upper="1", unit="s")
    start = "2026-03-29T00:59:59.5+00:00"
    value = {"start": start, "end": "2026-03-29T03:00:00.5+02:00"}
    assert judge(criterion, value).result == "met"
    value["end"] = "2026-03-29T03:00:00.500001+02:00"
    assert judge(criterion, value).result == "not_met"


def test_temperatures() -> None:
    criterion = builders.measured(
        quantity="temperature", unit="degC", lower="5", upper="30", readings=2, statistic="mean"
    )
    assert judge(criterion, builders.readings("-10", "20", unit="degC")).result == "met"
    # 41 °F = 5 °C
    assert judge(criterion, builders.readings("41", "41", unit="degF")).result == "met"
    assert judge(criterion, builders.readings("40.9", "41", unit="degF")).result == "not_met"
    with pytest.raises(EngineError, match="0 or more"):
        judge(criterion, builders.readings("-300", "20", unit="degC"))
    criterion |= {"statistic": "spread", "limits": {"lower": None, "upper": "3"}}
    found = judge(criterion, builders.readings("18", "21", unit="degC"))
    assert found.sentence == "The spread of 2 readings: 3 °C; allowed: 3 °C or less."
    # 5 degrees Fahrenheit apart are 25/9 degrees Celsius, below 3
    assert judge(criterion, builders.readings("60", "65", unit="degF")).result == "met"


def test_probability_is_the_worst_reading_s() -> None:
    # u = 1/√12 = 0.288675; (10 - 9.5)/u = 1.7321; Φ = 0.95837 (scipy.stats.norm)
    criterion = builders.measured(lower=None, upper="10", readings=3)
    found = judge(criterion, builders.readings("1", "9.5", "5"))
    assert found.inputs["probability"] == "0.9583"


def test_number_line() -> None:
    guarded = builders.measured(readings=3, decision_rule={"kind": "guard_band", "r": "1"})
    line = numberline.figures(guarded, builders.readings("7", "11", "8"))
    # From 5 to 11 is 6; an eighth of it on each side: 4.25 to 11.75, 7.5 long.
    assert (line["unit"], line["statistic"]) == ("mm", "each")
    assert line["start"] == {"exact": "4.25", "text": "4.25 mm", "position": 0.0}
    assert line["end"] == {"exact": "11.75", "text": "11.75 mm", "position": 1.0}
    assert line["lower"] == {"exact": "5", "text": "5 mm", "position": 0.1}
    assert line["upper"]["position"] == pytest.approx(5.75 / 7.5)
    # w = 0.577350269… mm, rounded inwards to 1 nm
    assert line["guard_lower"]["exact"] == "5.577351"
    assert line["guard_upper"]["exact"] == "9.422649"
    assert [each["exact"] for each in line["readings"]] == ["7", "11", "8"]
    assert [each["exact"] for each in line["values"]] == ["7", "11"]


def test_number_line_without_readings_or_a_second_limit() -> None:
    line = numberline.figures(builders.measured(lower=None, upper="10"))
    assert line["lower"] is line["guard_lower"] is line["guard_upper"] is None
    assert line["readings"] == line["values"] == []
    # A lone 10: from 0 to 20, an eighth of 20 beyond, but not below 0.
    assert (line["start"]["exact"], line["end"]["exact"]) == ("0", "22.5")
    assert line["upper"]["position"] == pytest.approx(10 / 22.5)


def test_number_line_of_a_spread_shows_only_the_spread() -> None:
    spread = builders.measured(lower=None, upper="2", statistic="spread", readings=2)
    line = numberline.figures(spread, builders.readings("100", "103"))
    assert line["readings"] == []
    assert [each["exact"] for each in line["values"]] == ["3"]


def test_number_line_of_nothing_at_all() -> None:
    line = numberline.figures(builders.measured(lower="0", upper="0"), builders.readings("0"))
    assert 0 <= line["lower"]["position"] < line["end"]["position"]


def test_only_measured_criteria_have_a_number_line() -> None:
    with pytest.raises(EngineError, match="number line"):
        numberline.figures(builders.checked())
    with pytest.raises(EngineError) as caught:
        numberline.figures(builders.measured(), builders.readings("x"))
    assert caught.value.path == "readings[0].value"


def test_what_was_typed_may_be_left_out_of_a_reading() -> None:
    rule = builders.measured(readings=2)
    whole, bare = builders.readings("6", "7"), builders.readings("6", "7")
    del bare["readings"][1]["typed"]
    assert judge(rule, bare) == judge(rule, whole)
    bare["readings"][1]["note"] = "at the head"
    with pytest.raises(EngineError, match="typed, value, unit") as caught:
        judge(rule, bare)
    assert caught.value.path == "readings[1]"


def test_readings_that_look_alike_are_not_taken_for_one_another() -> None:
    """What was worked out for one criterion is never given for another with the same readings."""
    value = builders.readings("5", "10")
    results = [
        judge(builders.measured(upper=upper, readings=2, statistic=statistic), value).result
        for upper in ("10", "9")
        for statistic in ("each", "smallest", "mean")
    ]
    assert results == ["met", "met", "met", "not_met", "met", "met"]


def test_without_an_instrument_there_is_no_probability() -> None:
    found = judge(builders.measured(instrument=None), builders.readings("7"))
    assert (found.result, found.score) == ("met", 1)
    assert "probability" not in found.inputs
    assert "probability" in judge(builders.measured(), builders.readings("7")).inputs


@pytest.mark.parametrize(
    ("changes", "value", "sentence"),
    [
        ({"statistic": "largest", "readings": 2}, builders.readings("6", "7"),
         "The largest of 2 readings: 7 mm; allowed: 5 mm to 10 mm."),
        ({"statistic": "smallest", "readings": 2}, builders.readings("6", "7"),
         "The smallest of 2 readings: 6 mm; allowed: 5 mm to 10 mm."),
        ({"quantity": "temperature", "unit": "degC"}, builders.readings("7", unit="degC"),
         "The reading: 7 °C; allowed: 5 °C to 10 °C."),
        ({"decision_rule": {"kind": "guard_band", "r": "1"}}, builders.readings("10"),
         "The reading: 10 mm; allowed: 5 mm to 10 mm. "
         "That is within the limits, but not by the guard band."),
    ],
)  # fmt: skip
def test_sentences_of_readings(
    changes: dict[str, Any], value: dict[str, Any], sentence: str
) -> None:
    assert judge(builders.measured(**changes), value).sentence == sentence


def test_a_reading_outside_the_limits_weighs_more_than_one_within_the_guard_band() -> None:
    guarded = builders.measured(readings=2, decision_rule={"kind": "guard_band", "r": "1"})
    assert judge(guarded, builders.readings("9.9", "7")).result == "within_guard_band"
    assert judge(guarded, builders.readings("9.9", "11")).result == "not_met"
