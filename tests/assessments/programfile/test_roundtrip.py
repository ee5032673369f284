"""Reading and writing again gives the same; the shipped files are canonical."""

import copy
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from assessments.engine.canonical import check_plain
from assessments.programfile.reading import read_program
from assessments.programfile.standard import standard_from_program
from assessments.programfile.writing import write_program
from tests.assessments.programfile.sources import SMALL, changed

PROGRAMS = sorted((Path(__file__).parents[3] / "fixtures" / "programs").glob("*.yaml"))
SMALL_DOCUMENT = read_program(SMALL, "small.yaml").document


def test_both_programs_are_shipped() -> None:
    assert [path.stem for path in PROGRAMS] == ["dutchman", "repoint"]


@pytest.mark.parametrize("path", PROGRAMS, ids=lambda path: path.stem)
def test_a_shipped_file_is_written_again_byte_for_byte(path: Path) -> None:
    source = path.read_bytes()
    assert write_program(read_program(source, path.name).document).encode() == source


def test_the_small_file_is_canonical() -> None:
    assert write_program(SMALL_DOCUMENT) == SMALL


def test_values_are_stored_as_exact_strings() -> None:
    width = SMALL_DOCUMENT["task"]["criteria"][1]
    assert width["weight"] == "3/2"
    assert width["serves"] == {"O1": "1", "O2": "1/2"}
    assert width["limits"] == {"lower": "opening - 2 * joint", "upper": "97/16"}
    assert width["instrument"]["resolution"] == "1/64"
    assert width["decision_rule"] == {"kind": "guard_band", "r": "1"}
    assert SMALL_DOCUMENT["task"]["dimensions"]["joint"] == {"value": "1/8", "unit": "in"}
    assert SMALL_DOCUMENT["task"]["criteria"][4]["limits"] == {"lower": "1440", "upper": None}
    assert SMALL_DOCUMENT["pass_rule"]["cut"] == "0.7"
    assert [outcome["minimum"] for outcome in SMALL_DOCUMENT["outcomes"]] == ["0.6", None]
    check_plain(SMALL_DOCUMENT)


def test_other_ways_of_writing_give_the_same_document() -> None:
    source = changed(
        ("teaches: [O1, O2]", "teaches:\n      - O2\n      - 'O1'"),
        ("cut: 70 %", 'cut: "70%"'),
        ("      hold_point: yes", "      hold_point: true   # the joint is hidden afterwards"),
        ("      hold_point: no", ""),
        ("lower: 24 h", "lower: 1 d"),
        ("upper: 6 1/16 in", "upper: '6 1/16\"'"),
        ("weight: 1 1/2", "weight: 3/2"),
        ("serves: {O1: 1, O2: 1/2}", "serves:\n        O2: 2/4\n        O1: 1"),
        ("  guard_band: undecided\n", ""),
    )
    assert read_program(source, "other.yaml").document == SMALL_DOCUMENT
    assert read_program(b"\xef\xbb\xbf" + SMALL.encode(), "bom.yaml").document == SMALL_DOCUMENT
    windows = SMALL.replace("\n", "\r\n").encode()
    assert read_program(windows, "windows.yaml").document == SMALL_DOCUMENT


def test_words_that_yaml_takes_for_something_else_stay_text() -> None:
    source = changed(
        ("title: Sill repair", "title: 'null'"),
        ("hazard: Dust", "hazard: 1.0"),
        ("value: Sandstone", "value: no"),
    )
    document = read_program(source, "words.yaml").document
    assert document["title"] == "null"
    assert document["task"]["cautions"][0]["hazard"] == "1.0"
    assert document["task"]["conditions"][0]["value"] == "no"
    assert read_program(write_program(document), "again.yaml").document == document


def test_optional_parts_may_be_left_empty() -> None:
    document = read_program(
        changed(
            ("teaches: [O1, O2]", "teaches:"),
            ("  conditions:\n    - name: Stone\n      value: Sandstone", "  conditions: ~"),
            ("validity_months: 24", "validity_months: null"),
            ("    joint: 1/8 in\n    opening: 6 in\n", ""),
            ("lower: opening - 2 * joint", "lower:"),
        ),
        "empty.yaml",
    ).document
    assert document["modules"][0]["teaches"] == []
    assert document["task"]["conditions"] == []
    assert document["task"]["dimensions"] == {}
    assert document["validity_months"] is None
    assert document["task"]["criteria"][1]["limits"] == {"lower": None, "upper": "97/16"}


def test_a_folded_text_is_read_as_one_line_without_marks() -> None:
    source = changed(("title: Sill repair", "title: >-\n  Sill\n  repair\n  in stone"))
    assert read_program(source, "folded.yaml").document["title"] == "Sill repair in stone"


TEXTS = st.text(
    st.characters(exclude_categories=["C", "Z"], include_characters=" "), min_size=1, max_size=200
).map(lambda text: " ".join(text.split()))


@settings(max_examples=30, deadline=None)
@given(title=TEXTS.filter(bool), lines=st.lists(TEXTS, min_size=1, max_size=4))
def test_any_text_survives(title: str, lines: list[str]) -> None:
    document: dict[str, Any] = copy.deepcopy(SMALL_DOCUMENT)
    document["title"] = title
    document["task"]["criteria"][0]["guidance"] = "\n".join(lines).strip()
    document["task"]["stages"][0]["title"] = title
    assert read_program(write_program(document), "any.yaml").document == document


def test_the_standard_has_the_documented_parts() -> None:
    standard = standard_from_program(SMALL_DOCUMENT)
    assert list(standard) == [
        "schema",
        "program",
        "outcomes",
        "stages",
        "dimensions",
        "criteria",
        "pass_rule",
        "about",
    ]
    assert standard["program"] == {"code": "SILL", "version": 1, "title": "Sill repair"}
    assert standard["criteria"][4] == {
        "key": "covered",
        "title": "Covered",
        "stage": "set",
        "kind": "timed",
        "critical": False,
        "not_applicable": False,
        "weight": "1",
        "outcomes": {"O2": "1"},
        "guidance": "",
        "unit": "min",
        "limits": {"lower": "1440", "upper": None},
    }
    task = SMALL_DOCUMENT["task"]
    told = ("title", "brief", "cautions", "conditions", "sheet")
    assert standard["about"] == {"task": {name: task[name] for name in told}}
    standard["outcomes"][0]["key"] = "changed"
    assert SMALL_DOCUMENT["outcomes"][0]["key"] == "O1"
