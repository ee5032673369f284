"""The two shipped programs: trade facts, instruments fine enough, and what they have to hold.

Facts of the trade are common practice, no source, unless one is named. The uncertainty is worked
out here anew, after JCGM 100:2008 (GUM), 4.3.7 and 5.1.2.
"""

from collections import Counter
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest

from assessments.engine.kinds import Counted, Measured, Timed
from assessments.engine.standard import Standard, load_standard, sealing_faults
from assessments.engine.tasksheet import SheetSum, task_sheet
from assessments.programfile.reading import read_program
from assessments.programfile.standard import standard_from_program
from assessments.queries.coverage import coverage_of

FOLDER = Path(__file__).parents[3] / "fixtures" / "programs"
NAMES = ["dutchman", "repoint"]
INCH = 25_400_000  # nanometres; exactly 25.4 mm (international yard and pound, 1959)
MILLIMETRE = 1_000_000
MINUTE = 60_000_000  # microseconds


def document(name: str) -> dict[str, Any]:
    path = FOLDER / f"{name}.yaml"
    return read_program(path.read_bytes(), path.name).document


def standard(name: str) -> Standard:
    return load_standard(standard_from_program(document(name)))


def measured(name: str, key: str) -> Measured:
    rule = standard(name).criterion(key).rule
    assert isinstance(rule, Measured)
    return rule


def test_a_rod_of_three_eighths_in_a_half_inch_hole_stands_free_by_a_sixteenth() -> None:
    """Common practice, no source: 3/8 in rod, 1/2 in hole, 1/16 in all round."""
    rod, hole = Fraction(3, 8), Fraction(1, 2)
    assert (hole - rod) / 2 == Fraction(1, 16)
    rule = measured("dutchman", "pin_hole")
    assert rule.limits.lower == hole * INCH
    assert rule.limits.upper == (hole + Fraction(1, 16)) * INCH
    assert document("dutchman")["task"]["dimensions"]["rod"] == {"value": str(rod), "unit": "in"}


def test_a_pin_that_shows_three_quarters_needs_a_hole_as_deep() -> None:
    """Common practice, no source. Critical: a shallow hole does not hold the piece."""
    rule = measured("dutchman", "hole_depth")
    assert rule.limits.lower == Fraction(3, 4) * INCH
    assert standard("dutchman").criterion("hole_depth").critical


def test_a_repair_is_protected_from_the_weather_for_a_day() -> None:
    """Common practice, no source: at least 24 hours."""
    rule = standard("dutchman").criterion("protected").rule
    assert isinstance(rule, Timed)
    assert (rule.limits.lower, rule.limits.upper) == (24 * 60 * MINUTE, None)


def test_the_joint_of_a_dutchman_is_a_sixteenth_to_an_eighth() -> None:
    """Set by the project; with it, a piece for a 6 in opening is 5 3/4 to 5 7/8 in wide.

    6 in less two joints of 1/8 in is 5.75 in (geometry).
    """
    joint, piece = measured("dutchman", "joint_width"), measured("dutchman", "piece_width")
    assert (joint.limits.lower, joint.limits.upper) == (INCH // 16, INCH // 8)
    assert (piece.limits.lower, piece.limits.upper) == (
        Fraction("5.75") * INCH,
        Fraction("5.875") * INCH,
    )
    assert measured("dutchman", "face_step").limits.upper == Fraction(1, 32) * INCH


def test_joints_are_raked_to_twice_their_width_or_more() -> None:
    """Common practice, no source: at least twice the joint's width, here also 25 mm."""
    rule = measured("repoint", "rake_depth")
    assert rule.limits.lower == max(2 * 10, 25) * MILLIMETRE
    assert rule.limits.upper == 35 * MILLIMETRE
    # 10 mm is also the most that one layer may have, so 25 mm takes three (geometry).
    layer = measured("repoint", "layer_thickness")
    assert layer.limits.upper == 10 * MILLIMETRE
    assert layer.limits.lower == 5 * MILLIMETRE
    assert 2 * layer.limits.upper < rule.limits.lower <= 3 * layer.limits.upper


def test_lime_mortar_is_gauged_one_to_three_as_its_specification_says() -> None:
    rule = standard("repoint").criterion("mix").rule
    assert isinstance(rule, Counted)
    assert (rule.limits.lower, rule.limits.upper) == (3, 3)


@pytest.mark.parametrize("name", NAMES)
def test_each_instrument_is_fine_enough_for_its_limits(name: str) -> None:
    """U = k * sqrt(mpe**2 / 3 + ends * (resolution / 2)**2 / 3), compared by squares."""
    checked = 0
    for criterion in document(name)["task"]["criteria"]:
        if criterion["kind"] != "measured":
            continue
        tool = criterion["instrument"]
        square = (
            Fraction(tool["maximum_permissible_error"]) ** 2
            + tool["ends"] * (Fraction(tool["resolution"]) / 2) ** 2
        ) / 3
        unit = {"in": INCH, "mm": MILLIMETRE}[criterion["unit"]]
        limits = measured(name, criterion["key"]).limits
        assert limits.upper is not None
        width = Fraction(limits.upper - (limits.lower or 0)) / unit
        expanded = Fraction(criterion["coverage_factor"]) ** 2 * square
        assert width**2 >= Fraction(criterion["minimum_ratio"]) ** 2 * expanded, criterion["key"]
        checked += 1
    assert checked >= 3
    assert sealing_faults(standard_from_program(document(name))) == []


@pytest.mark.parametrize("name", NAMES)
def test_a_program_holds_what_a_scorer_has_to_be_shown(name: str) -> None:
    program = document(name)
    criteria = program["task"]["criteria"]
    kinds = Counter(criterion["kind"] for criterion in criteria)
    assert set(kinds) == {"rated", "measured", "checked", "counted", "timed"}
    assert 10 <= len(criteria) <= 14
    assert 4 <= len(program["outcomes"]) <= 6
    assert 5 <= len(program["modules"]) <= 7
    assert any(criterion["critical"] for criterion in criteria)
    assert [each["key"] for each in criteria if each["not_applicable"]] != []
    assert any(stage["hold_point"] for stage in program["task"]["stages"])
    rules = [each["decision_rule"]["kind"] for each in criteria if each["kind"] == "measured"]
    assert {"simple", "guard_band"} <= set(rules)
    assert coverage_of(program).gaps == ()
    sources = [each["limits_source"] for each in criteria if each["kind"] == "measured"]
    assert all(sources)


@pytest.mark.parametrize("name", NAMES)
def test_hold_points_come_before_what_would_hide_the_work(name: str) -> None:
    stages = [(each["key"], each["hold_point"]) for each in document(name)["task"]["stages"]]
    held = [key for key, hold in stages if hold]
    assert held == {"dutchman": ["cavity", "dry_fit"], "repoint": ["rake"]}[name]
    hidden = {"dutchman": "bonding", "repoint": "fill"}[name]
    keys = [key for key, _ in stages]
    assert all(keys.index(key) < keys.index(hidden) for key in held)


@pytest.mark.parametrize("name", NAMES)
def test_the_usual_cautions_stand_with_their_sources(name: str) -> None:
    cautions = document(name)["task"]["cautions"]
    words = " ".join(caution["hazard"].lower() for caution in cautions)
    for hazard in ("silica", "height", "vibration", "lifting"):
        assert hazard in words
    assert ("lime burns" in words) == (name == "repoint")
    sources = {caution["hazard"]: caution["source"] for caution in cautions}
    wanted = {
        "dutchman": ("29 CFR 1926.1153", "29 CFR 1926 Subpart L"),
        "repoint": ("Hazardous to Health Regulations 2002", "Work at Height Regulations 2005"),
    }[name]
    assert wanted[0] in sources["Silica dust"]
    assert wanted[1] in sources["Work at height"]
    texts = " ".join(caution["text"] for caution in cautions)
    assert {"dutchman": "Local codes", "repoint": "local rules"}[name] in texts
    assert "licensed" in texts


@pytest.mark.parametrize("name", NAMES)
def test_no_program_calls_anybody_certified(name: str) -> None:
    text = (FOLDER / f"{name}.yaml").read_text(encoding="utf-8").lower()
    assert "certified" not in text
    assert "certification" not in text


def sheet(name: str) -> dict[str, SheetSum]:
    task = document(name)["task"]
    return {each.sum: each for each in task_sheet(task["sheet"], task["dimensions"])}


def test_the_task_sheet_of_the_dutchman_agrees_with_its_limits() -> None:
    """Geometry: 6 x 4 x 3 in less joints of 1/8 in; the rod and hole of the criteria."""
    found = sheet("dutchman")
    assert set(found) == {
        "disc_reach", "piece", "bed_mortar", "pin_hole", "pin_grout", "mass", "vibration", "silica",
    }  # fmt: skip
    assert dict(found["piece"].results) == {
        "Width": "5 3/4 in",
        "Height": "3 3/4 in",
        "Thickness": "2 15/16 in",
    }
    assert [text for _, text in found["pin_hole"].results] == ["1/16 in", "7/8 in"]
    assert dict(found["mass"].inputs)["Most that one person lifts"] == "30 lb"
    assert found["mass"].cautions == ()


def test_the_task_sheet_of_repointing_fills_a_square_metre() -> None:
    """Brick of 215 x 65 mm with 10 mm joints (BS EN 771-1 work size, from memory): a square metre
    has 1/0.075 m of bed joint and 1/(0.225 * 0.075) perpends of 65 mm, together 17.2 m.
    """
    perpends = 1 / (0.225 * 0.075) * 0.065
    run = document("repoint")["task"]["dimensions"]["run"]
    assert float(run["value"]) == pytest.approx(1 / 0.075 + perpends, abs=0.05)
    assert run["unit"] == "m"
    found = sheet("repoint")
    assert set(found) == {"joint_mortar", "lifts", "vibration", "silica"}
    # 10 mm x 25 mm x 17.2 m, with 15 % (geometry).
    assert [text for _, text in found["joint_mortar"].results] == ["4.3 L", "4.945 L"]
    assert found["lifts"].results[0] == ("Lifts", "3")


@pytest.mark.parametrize("name", NAMES)
def test_invented_figures_of_a_task_sheet_are_said_to_be_invented(name: str) -> None:
    rows = document(name)["task"]["sheet"]
    sources = [row[key] for row in rows for key in ("source", "density_source") if key in row]
    assert len(sources) >= 2
    assert [source for source in sources if "nvented for the example" not in source] == []
    # What the trainee is set stays below the action values.
    assert sheet(name)["vibration"].cautions == ()
    assert sheet(name)["silica"].cautions == ()
