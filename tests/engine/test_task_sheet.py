"""The task sheet: what it says, when it cautions, and which input it refuses where."""

from __future__ import annotations

import copy
import dataclasses
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assessments.engine import EngineError
from assessments.engine.tasksheet import SUMS, SheetSum, task_sheet

DIMENSIONS = {
    "opening_width": {"value": "6", "unit": "in"},
    "joint": {"value": "1/8", "unit": "in"},
    "run": {"value": "12", "unit": "m"},
    "face": {"value": "200", "unit": "cm2"},
}
OPENING = {"unit": "in", "width": "opening_width", "height": "4", "depth": "3"}
SHEET: list[dict[str, Any]] = [
    {"sum": "disc_reach", "unit": "in", "disc": "9/2", "depth": "1"},
    {"sum": "piece", **OPENING, "joint": "joint", "back": "joint", "proud": None},
    {"sum": "bed_mortar", **OPENING, "joint": "joint", "back": "joint", "waste": "0.15"},
    {"sum": "joint_mortar", "unit": "mm", "width": "10", "depth": "25", "length": "run"},
    {"sum": "lifts", "unit": "mm", "depth": "25", "thickness": "6"},
    {"sum": "pin_hole", "unit": "in", "rod": "3/8", "hole": "4 * joint", "shows": "3/4"},
    {"sum": "pin_grout", "unit": "in", "rod": "1/4", "hole": "3/8", "length": "2", "count": 2},
    {
        "sum": "mass", **OPENING, "density": "140", "density_unit": "lb/ft3",
        "density_source": "Invented", "guide": "niosh",
    },
    {
        "sum": "vibration",
        "tools": [{"tool": "Drill", "m_s2": "5", "minutes": 60}],
        "source": "Invented",
    },
    {
        "sum": "silica",
        "work": [{"work": "Cutting", "ug_m3": "30", "minutes": 60}],
        "source": "Invented",
    },
]  # fmt: skip


def with_change(number: int, **changes: Any) -> list[dict[str, Any]]:
    """The sheet with fields of one sum replaced; ``...`` takes a field away."""
    sheet = copy.deepcopy(SHEET)
    sheet[number] = {
        name: value for name, value in {**sheet[number], **changes}.items() if value is not ...
    }
    return sheet


def one(number: int, **changes: Any) -> SheetSum:
    return task_sheet(with_change(number, **changes), DIMENSIONS)[number]


def test_every_sum_is_worked_out_in_the_order_of_the_sheet() -> None:
    found = task_sheet(SHEET, DIMENSIONS)
    assert [each.sum for each in found] == list(SUMS)
    assert len({each.title for each in found}) == len(SUMS)
    for each in found:
        assert each.inputs
        assert each.results
        assert each.working.endswith(".")
    assert task_sheet([], {}) == []


def test_a_sum_cannot_be_changed_afterwards() -> None:
    with pytest.raises(dataclasses.FrozenInstanceError):
        one(4).title = "other"  # type: ignore[misc]


def test_inputs_are_shown_with_what_they_came_from() -> None:
    assert one(1).inputs == (
        ("Width of the opening", "6 in (opening width)"),
        ("Height of the opening", "4 in"),
        ("Depth of the opening", "3 in"),
        ("Joint all round", "1/8 in (joint)"),
        ("Bed at the back", "1/8 in (joint)"),
    )
    assert ("Diameter of the hole", "1/2 in (4 * joint)") in one(5).inputs
    assert ("Length of the run", "12000 mm (run)") in one(3).inputs  # a dimension in metres
    assert ("Source of the figures", "Invented") in one(8).inputs


def test_a_length_that_is_no_sixty_fourth_is_marked_about() -> None:
    found = one(4, unit="in", depth="1", thickness="joint * 3")
    assert found.results == (("Lifts", "3"), ("Each, when all are alike", "about 0.3333 in"))


def test_title_and_note_are_those_of_the_sheet() -> None:
    plain, own = one(4), one(4, title="Filling", note="Damp it first.")
    assert (plain.title, own.title) == ("Lifts of mortar", "Filling")
    assert own.working == f"{plain.working} Damp it first."
    assert one(4, title="", note="") == plain
    assert one(4, title=None, note=None) == plain


def test_an_end_gap_deepens_the_hole_and_proud_thickens_the_piece() -> None:
    assert one(5, end_gap="1/8").results[1] == ("Least depth of the hole", "7/8 in")
    assert one(1).results[2] == ("Thickness", "2 7/8 in")
    assert one(1, proud="1/16").results[2] == ("Thickness", "2 15/16 in")


def test_what_is_left_out_and_what_is_null_are_the_same() -> None:
    assert one(1, proud=...) == one(1)
    assert one(2, waste=None) == one(2, waste=...) != one(2)


def test_a_disc_always_carries_the_caution_on_dust() -> None:
    [(text, source)] = one(0).cautions
    assert "silica dust" in text
    assert "29 CFR 1926.1153" in source


def cube(pounds: str, **changes: Any) -> SheetSum:
    """A cubic foot of so many pounds."""
    side = {"width": "12", "height": "12", "depth": "12"}
    return one(7, **side, density=pounds, **changes)


@pytest.mark.parametrize(
    ("pounds", "guide", "cautioned"),
    # 51 lb (NIOSH load constant) and 25 kg = 55.116 lb (HSE L23): from memory.
    [("51", "niosh", 0), ("51.001", "niosh", 1), ("55.11", "hse", 0), ("55.12", "hse", 1)],
)
def test_lifting_is_cautioned_above_the_guide(pounds: str, guide: str, cautioned: int) -> None:
    assert len(cube(pounds, guide=guide).cautions) == cautioned


def test_lifting_is_cautioned_above_the_projects_own_figure() -> None:
    most = {"most": {"value": "30", "unit": "lb"}, "most_source": "Set by the project"}
    assert cube("30", **most).cautions == ()
    [(text, source)] = cube("30.001", **most).cautions
    assert "above the 30 lb that this project allows" in text
    assert source == "Set by the project"
    assert len(cube("60", **most).cautions) == 2
    kilograms = {**most, "most": {"value": "13.6", "unit": "kg"}}  # 29.983 lb
    assert len(cube("30", **kilograms).cautions) == 1
    assert ("Most that one person lifts", "13.6 kg") in cube("1", **kilograms).inputs


@pytest.mark.parametrize(
    ("minutes", "said"),
    # 2 · 10² · t: 30 min are 100 points, 120 min are 400.
    [(29, None), (30, "action value of 100"), (119, "action value"), (120, "limit value of 400")],
)
def test_vibration_is_cautioned_from_the_action_value_on(minutes: int, said: str | None) -> None:
    tools = [{"tool": "Breaker", "m_s2": "10", "minutes": minutes}]
    found = one(8, tools=tools).cautions
    assert [text for text, _ in found if said and said in text] == [text for text, _ in found]
    assert len(found) == (said is not None)


@pytest.mark.parametrize(
    ("level", "said"),
    # For 480 minutes the average is the level itself.
    [("24.9", None), ("25", "action level of 25"), ("50", "action level"), ("50.1", "limit of 50")],
)
def test_silica_is_cautioned_from_the_action_level_on(level: str, said: str | None) -> None:
    found = one(9, work=[{"work": "Cutting", "ug_m3": level, "minutes": 480}]).cautions
    assert [text for text, _ in found if said and said in text] == [text for text, _ in found]
    assert len(found) == (said is not None)


def test_every_caution_defers_to_local_codes_and_names_its_source() -> None:
    found = [
        one(0),
        cube("60", most={"value": "30", "unit": "lb"}, most_source="The project"),
        cube("60", guide="hse"),
        *(one(8, tools=[{"tool": "B", "m_s2": "10", "minutes": each}]) for each in (30, 120)),
        *(one(9, work=[{"work": "C", "ug_m3": each, "minutes": 480}]) for each in ("25", "60")),
    ]
    cautions = [caution for each in found for caution in each.cautions]
    assert len(cautions) == 8
    for text, source in cautions:
        assert text.lower().count("local codes") >= 1
        assert text.lower().endswith("licensed practice come first.")
        assert source


BAD: list[tuple[int, dict[str, Any], str, str]] = [
    (0, {"sum": "lift"}, "sheet[0].sum", "Write one of: disc_reach"),
    (0, {"sum": ...}, "sheet[0].sum", "Write which sum this is"),
    (0, {"disc": ...}, "sheet[0].disc", "is missing"),
    (0, {"teeth": "9"}, "sheet[0].teeth", "no such field"),
    (0, {"disc": "3/2"}, "sheet[0].depth", "larger one"),
    (0, {"unit": "m"}, "sheet[0].unit", "in, mm"),
    (0, {"disc": 4}, "sheet[0].disc", "as text"),
    (0, {"disc": "-4"}, "sheet[0].disc", "above 0"),
    (0, {"disc": "0"}, "sheet[0].disc", "above 0"),
    (0, {"disc": "1e3"}, "sheet[0].disc", ""),
    (0, {"disc": "1/0"}, "sheet[0].disc", "0 under the line"),
    (0, {"disc": "40000"}, "sheet[0].disc", "over 1 000 m"),
    (0, {"disc": "width"}, "sheet[0].disc", "no dimension “width”"),
    (0, {"disc": "face"}, "sheet[0].disc", "comes out as area"),
    (0, {"disc": "2 * 3"}, "sheet[0].disc", "a plain number"),
    (1, {"width": "0"}, "sheet[1].width", "This comes to 0 in: write a length above 0."),
    (1, {"joint": None}, "sheet[1].joint", "as text"),
    (1, {"joint": "2"}, "sheet[1].joint", "leave nothing of the piece"),
    (1, {"back": "3"}, "sheet[1].back", "fills the opening"),
    (1, {"joint": "joint - opening_width"}, "sheet[1].joint", "0 or more"),
    (2, {"joint": "0", "back": "0"}, "sheet[2].joint", "both 0"),
    (2, {"waste": "1.5"}, "sheet[2].waste", "share from 0 to 1"),
    (2, {"waste": "-0.1"}, "sheet[2].waste", "0 or more"),
    (2, {"waste": "15 %"}, "sheet[2].waste", "exact decimal"),
    (4, {"thickness": "0"}, "sheet[4].thickness", "above 0"),
    (5, {"rod": "5/8"}, "sheet[5].hole", "wider than the rod"),
    (6, {"rod": "3/8"}, "sheet[6].hole", "room for grout"),
    (6, {"count": 0}, "sheet[6].count", "from 1 to 1000"),
    (6, {"count": True}, "sheet[6].count", "from 1 to 1000"),
    (7, {"density": "0"}, "sheet[7].density", "above 0"),
    (7, {"density_unit": "g/cm3"}, "sheet[7].density_unit", "lb/ft3, kg/m3"),
    (7, {"density_source": " "}, "sheet[7].density_source", "empty"),
    (7, {"guide": "own"}, "sheet[7].guide", "niosh, hse"),
    (7, {"most": {"value": "30", "unit": "lb"}}, "sheet[7].most_source", "Write who set"),
    (7, {"most_source": "The project"}, "sheet[7].most", "write the figure"),
    (7, {"most": {"value": "30", "unit": "in"}}, "sheet[7].most.unit", "lb, kg"),
    (7, {"most": "30 lb"}, "sheet[7].most", "object"),
    (8, {"tools": []}, "sheet[8].tools", "at least 1"),
    (8, {"tools": [{"tool": "Drill", "m_s2": "5"}]}, "sheet[8].tools[0].minutes", "is missing"),
    (
        8,
        {"tools": [{"tool": "Drill", "m_s2": "-5", "minutes": 5}]},
        "sheet[8].tools[0].m_s2",
        "0 or more",
    ),
    (8, {"tools": [{"tool": "A", "m_s2": "5", "minutes": 800}] * 2}, "sheet[8].tools", "24 hours"),
    (8, {"source": ...}, "sheet[8].source", "is missing"),
    (
        9,
        {"work": [{"work": "A", "ug_m3": "5", "minutes": 1441}]},
        "sheet[9].work[0].minutes",
        "1 to 1440",
    ),
    (9, {"work": [{"work": "A", "ug_m3": "5", "minutes": 800}] * 2}, "sheet[9].work", "24 hours"),
]


@pytest.mark.parametrize(("number", "changes", "path", "message"), BAD)
def test_bad_input(number: int, changes: dict[str, Any], path: str, message: str) -> None:
    with pytest.raises(EngineError) as caught:
        task_sheet(with_change(number, **changes), DIMENSIONS)
    assert caught.value.path == path
    assert message in caught.value.message


def test_a_bad_sheet_or_dimension_is_named() -> None:
    for sheet, dimensions, path in (
        ("none", {}, "sheet"),
        (["lifts"], {}, "sheet[0].sum"),
        ([], {"joint": {"value": "0", "unit": "in"}}, "dimensions.joint.value"),
    ):
        with pytest.raises(EngineError) as caught:
            task_sheet(sheet, dimensions)  # type: ignore[arg-type]
        assert caught.value.path == path


@given(
    number=st.integers(0, len(SHEET) - 1),
    value=st.one_of(
        st.none(),
        st.booleans(),
        st.integers(),
        st.text(max_size=20),
        st.sampled_from(["1/3", "9" * 30, "0.000000001", "opening_width ", "joint / run", "[1]"]),
        st.lists(st.text(max_size=3), max_size=2),
        st.dictionaries(st.text(max_size=3), st.text(max_size=3), max_size=2),
    ),
    data=st.data(),
)
def test_whatever_stands_in_a_field_there_is_a_sheet_or_an_error(
    number: int, value: Any, data: st.DataObject
) -> None:
    name = data.draw(st.sampled_from(sorted(SHEET[number])))
    try:
        found = task_sheet(with_change(number, **{name: value}), DIMENSIONS)
    except EngineError as error:
        told = error
    else:
        assert len(found) == len(SHEET)
        return
    assert told.path.startswith(f"sheet[{number}].")
    assert told.message
