"""The shared cases are what the engine says today, and the engine says what was worked by hand."""

from __future__ import annotations

import json
from typing import Any

import pytest

from assessments.engine import EngineError, parse_length, parse_quantity
from assessments.engine.judge import judge
from assessments.engine.kinds import Measured
from assessments.engine.quantities import base_text
from assessments.engine.standard import load_criterion, load_dimensions
from assessments.queries.site.pack_document import sums_of
from tests.engine.builders import COMMON
from tests.vectors import documents
from tests.vectors.generate import FOLDER, build

BY_HAND: dict[str, Any] = json.loads((FOLDER / "by_hand.json").read_text(encoding="utf-8"))
MOST_BYTES = 1_500_000


def typed(case: dict[str, Any]) -> str:
    return str(case["typed"])


def document(name: str) -> dict[str, Any]:
    """A criterion worked by hand, with what every criterion has."""
    return {**COMMON, "key": "H", **BY_HAND["criteria"][name]}


def test_files_are_what_the_engine_says() -> None:
    made = build()
    for name, content in made.items():
        held = (FOLDER / name).read_text(encoding="ascii")
        for i, (line, meant) in enumerate(
            zip(held.splitlines(), content.splitlines(), strict=False), start=1
        ):
            assert line == meant, f"{name}, line {i}: run python -m tests.vectors.generate"
        assert held == content, name
    assert sum(map(len, made.values())) <= MOST_BYTES


def test_every_result_and_kind_is_among_the_cases() -> None:
    found = json.loads((FOLDER / "judgements.json").read_text(encoding="ascii"))
    kinds = {
        (found["criteria"][i]["criterion"]["kind"], result) for i, _, result, _ in found["judged"]
    }
    plain = {
        (kind, result)
        for kind in ("rated", "measured", "checked", "counted", "timed")
        for result in ("met", "not_met")
    }
    assert (
        plain
        | {
            ("measured", "within_guard_band"),
            ("measured", "missing"),
            ("timed", "missing"),
            ("rated", "not_applicable"),
        }
        <= kinds
    )
    assert len(found["judged"]) > 1000
    assert len(found["refused"]) > 1000


@pytest.mark.parametrize("case", BY_HAND["lengths"], ids=typed)
def test_length_by_hand(case: dict[str, Any]) -> None:
    found = parse_length(case["typed"], case["asked"])
    read = (found.as_reading()["value"], found.unit, str(found.nanometres))
    assert read == (case["value"], case["unit"], case["nm"])
    assert base_text(found.nanometres, found.unit) == case["shown"]


@pytest.mark.parametrize("case", BY_HAND["quantities"], ids=typed)
def test_quantity_by_hand(case: dict[str, Any]) -> None:
    assert str(parse_quantity(case["typed"], case["asked"]).base) == case["base"]


@pytest.mark.parametrize("case", BY_HAND["refused"], ids=typed)
def test_refused_by_hand(case: dict[str, Any]) -> None:
    with pytest.raises(EngineError) as refused:
        parse_quantity(case["typed"], case["asked"])
    assert case["says"] in refused.value.message


@pytest.mark.parametrize("case", BY_HAND["judged"], ids=lambda case: case["sum"])
def test_judged_by_hand(case: dict[str, Any]) -> None:
    found = judge(document(case["of"]), case["value"], BY_HAND["dimensions"])
    assert (found.result, found.sentence) == (case["result"], case["sentence"])


@pytest.mark.parametrize("name", BY_HAND["sums"])
def test_sums_by_hand(name: str) -> None:
    rule = load_criterion(document(name), load_dimensions(BY_HAND["dimensions"])).rule
    assert isinstance(rule, Measured)
    assert sums_of(rule) == BY_HAND["sums"][name]


def test_sums_of_a_pack_are_those_of_the_cases() -> None:
    found = json.loads((FOLDER / "judgements.json").read_text(encoding="ascii"))
    dimensions = load_dimensions(documents.DIMENSIONS)
    rules = [load_criterion(each["criterion"], dimensions).rule for each in found["criteria"]]
    sums = [sums_of(rule) if isinstance(rule, Measured) else None for rule in rules]
    assert sums == [each["sums"] for each in found["criteria"]]
