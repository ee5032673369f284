"""What is covered and what is asked for: cases worked by hand."""

from typing import Any

import pytest

from assessments.engine import EngineError
from assessments.engine.qualification import (
    covers,
    load_need,
    load_rules,
    need_rows,
    range_as_need,
    range_of,
    within,
)
from tests.engine.qualification import DIMENSIONS, make_rules, rules_document

# The record covers: sill and vertical face; sandstone and limestone; depth 1 1/2 in to 6 in
# (half and twice 3 in), that is 38.1 mm to 152.4 mm; joints of 3 mm and more.
COVERED: list[Any] = [
    {},
    {"position": "sill"},
    {"position": "vertical face"},
    {"position": ["vertical face", "sill"]},
    {"stone": "limestone"},
    {"stone": ["limestone", "sandstone"]},
    {"depth": {"from": "3/2", "to": "6", "unit": "in"}},
    {"depth": {"from": "38.1", "to": "152.4", "unit": "mm"}},
    {"depth": {"from": "4", "to": "4", "unit": "in"}},
    {"joint": {"from": "3", "unit": "mm"}},
    {"joint": {"from": "3", "to": None, "unit": "mm"}},
    {"joint": {"from": "1/8", "to": "100", "unit": "in"}},  # 1/8 in = 3.175 mm
]
SHORT: list[tuple[Any, str]] = [
    (
        {"position": "soffit"},
        "Position: soffit is asked for, the record covers sill and vertical face.",
    ),
    (
        {"position": ["soffit", "sill"]},
        "Position: sill and soffit are asked for, the record covers sill and vertical face.",
    ),
    (
        {"stone": "granite"},
        "Stone: granite is asked for, the record covers sandstone and limestone.",
    ),
    (
        {"depth": {"from": "2", "to": "8", "unit": "in"}},
        "Piece depth: 2 in to 8 in is asked for, the record covers 1 1/2 in to 6 in.",
    ),
    (
        {"depth": {"from": "38", "to": "150", "unit": "mm"}},  # 0.1 mm below 1 1/2 in
        "Piece depth: 38 mm to 150 mm is asked for, the record covers 1 1/2 in to 6 in.",
    ),
    (
        {"depth": {"from": "2", "unit": "in"}},
        "Piece depth: 2 in and more is asked for, the record covers 1 1/2 in to 6 in.",
    ),
    (
        {"depth": {"to": "6", "unit": "in"}},
        "Piece depth: up to 6 in is asked for, the record covers 1 1/2 in to 6 in.",
    ),
    (
        {"joint": {"to": "10", "unit": "mm"}},
        "Joint: up to 10 mm is asked for, the record covers 3 mm and more.",
    ),
]


@pytest.mark.parametrize("asked", COVERED)
def test_a_need_inside_the_range_is_covered(asked: Any) -> None:
    rules = make_rules()
    assert covers(range_of(rules), load_need(rules, asked)) == ()


@pytest.mark.parametrize(("asked", "said"), SHORT)
def test_a_need_outside_the_range_is_told(asked: Any, said: str) -> None:
    rules = make_rules()
    (short,) = covers(range_of(rules), load_need(rules, asked))
    assert (short.key, short.sentence) == (next(iter(asked)), said)


def test_everything_short_is_told_in_the_order_of_the_rules() -> None:
    rules = make_rules()
    asked = {"depth": {"from": "9", "unit": "in"}, "stone": "granite", "position": "sill"}
    assert [each.key for each in covers(range_of(rules), load_need(rules, asked))] == [
        "stone",
        "depth",
    ]


def test_a_range_that_knows_nothing_of_a_variable_does_not_cover_it() -> None:
    rules = make_rules()
    other = make_rules(variables=rules_document()["variables"][1:])
    (short,) = covers(range_of(other), load_need(rules, {"position": "sill"}))
    assert short.sentence == "Position: sill is asked for, the record says nothing about it."


def test_a_need_reads_in_sentences() -> None:
    rules = make_rules()
    asked = {"depth": {"to": "100", "unit": "mm"}, "stone": ["sandstone", "granite", "granite"]}
    assert need_rows(load_need(rules, asked)) == [
        {"key": "stone", "title": "Stone", "asks": "Granite and sandstone."},
        {"key": "depth", "title": "Piece depth", "asks": "Up to 100 mm."},
    ]


WRONG: list[tuple[Any, str, str]] = [
    ([], "", "an object"),
    ({"place": "bench"}, "place", "known: position, stone, depth, joint"),
    ({"position": "arch"}, "position", "known: sill, vertical face, soffit"),
    ({"position": []}, "position", "at least one value"),
    ({"position": {"from": "1"}}, "position", "one of them; known: sill, vertical face, soffit"),
    ({"position": None}, "position", "Write one of them"),
    ({"depth": "3 in"}, "depth", "an object"),
    ({"depth": {"from": "3"}}, "depth.unit", "missing"),
    ({"depth": {"unit": "in"}}, "depth", "“from”, “to” or both"),
    ({"depth": {"unit": "in", "from": None, "to": None}}, "depth", "“from”, “to” or both"),
    ({"depth": {"unit": "kg", "from": "3"}}, "depth.unit", "a unit of length"),
    ({"depth": {"unit": "in", "from": 3}}, "depth.from", "exact decimal"),
    ({"depth": {"unit": "in", "from": "0"}}, "depth.from", "above 0"),
    ({"depth": {"unit": "in", "from": "4", "to": "3"}}, "depth.to", "not below"),
    ({"depth": {"unit": "in", "from": "4", "most": "5"}}, "depth.most", "no such field"),
]


@pytest.mark.parametrize(("asked", "path", "said"), WRONG)
def test_what_is_wrong_in_a_need_is_said_at_its_field(asked: Any, path: str, said: str) -> None:
    with pytest.raises(EngineError) as caught:
        load_need(make_rules(), asked)
    assert caught.value.path == path
    assert said in caught.value.message


def test_a_narrower_range_lies_within_and_not_the_other_way() -> None:
    wide = range_of(make_rules())
    document = rules_document()
    document["variables"][2] |= {"to": "3/2"}
    narrow = range_of(load_rules(document, DIMENSIONS))
    assert within(narrow, wide)
    assert not within(wide, narrow)


def test_the_same_sizes_in_another_unit_lie_within() -> None:
    document = rules_document()
    document["variables"][2] |= {"unit": "mm"}
    metric = range_of(load_rules(document, DIMENSIONS))
    inches = range_of(make_rules())
    assert within(metric, inches)
    assert within(inches, metric)
    assert metric.rows()[2]["covers"] == "38.1 mm to 152.4 mm."


def test_a_range_with_a_rule_less_is_the_wider_one() -> None:
    whole = range_of(make_rules())
    fewer = range_of(make_rules(variables=rules_document()["variables"][:3]))
    assert within(whole, fewer)
    assert not within(fewer, whole)


def test_values_and_sizes_never_lie_within_each_other() -> None:
    document = rules_document()
    document["variables"][2] |= {"key": "position"}
    sizes = range_of(make_rules(variables=document["variables"][2:3]))
    values = range_of(make_rules(variables=document["variables"][:1]))
    assert not within(sizes, values)
    assert not within(values, sizes)
    assert len(covers(values, range_as_need(sizes))) == 1


def test_lengths_and_masses_never_lie_within_each_other() -> None:
    document = rules_document()
    row = document["variables"][3]
    length = range_of(make_rules(variables=[row]))
    mass = range_of(make_rules(variables=[{**row, "unit": "kg"}]))
    assert not within(length, mass)
    assert not within(mass, length)
