"""What must hold for every standard and every set of observations."""

from __future__ import annotations

import copy
import json
import random
from fractions import Fraction
from typing import Any

from hypothesis import assume, given
from hypothesis import strategies as st

from assessments.engine import canonical, decide, load_standard, replay
from tests.engine import builders
from tests.engine.documents import attempts

Attempt = tuple[dict[str, Any], list[dict[str, Any]]]
ORDER = {"incomplete": 0, "not_yet_met": 1, "undecided": 2, "met": 3}


@given(attempts(), st.randoms())
def test_the_order_of_observations_never_matters(attempt: Attempt, chance: random.Random) -> None:
    standard, rows = attempt
    shuffled = list(rows)
    chance.shuffle(shuffled)
    first = decide(standard, builders.observations(*rows))
    assert decide(standard, builders.observations(*shuffled)) == first


@given(attempts())
def test_input_is_left_as_it_was_and_output_is_the_same_again(attempt: Attempt) -> None:
    standard, rows = attempt
    observations = builders.observations(*rows)
    before = copy.deepcopy((standard, observations))
    prepared = load_standard(standard)
    first = decide(prepared, observations)
    written = canonical.canonical(first)
    empty(first)  # what a caller does to any part of a decision stays there
    assert canonical.canonical(decide(prepared, observations)) == written
    assert canonical.canonical(decide(standard, observations)) == written
    assert (standard, observations) == before


def empty(document: Any) -> None:
    """Take everything out of every object and list of a document."""
    if isinstance(document, dict | list):
        for each in document.values() if isinstance(document, dict) else document:
            empty(each)
        document.clear()


@given(attempts())
def test_json_round_trip(attempt: Attempt) -> None:
    standard, rows = json.loads(json.dumps(attempt))
    decision = decide(standard, builders.observations(*rows))
    assert canonical.loads(json.dumps(decision)) == decision
    assert decision == decide(*json.loads(json.dumps([attempt[0], builders.observations(*rows)])))


@given(attempts())
def test_the_trace_alone_derives_the_decision(attempt: Attempt) -> None:
    standard, rows = attempt
    decision = decide(standard, builders.observations(*rows))
    derived = replay(json.loads(json.dumps(decision["trace"])))
    assert derived["result"] == decision["result"]
    found = {each["key"]: each["result"] for each in decision["criteria"]}
    assert derived["criteria"] == found
    if derived["overall"] is not None:
        assert derived["overall"]["low"] == decision["overall"]["score"]
        assert derived["overall"]["high"] == decision["overall"]["score_at_most"]
        for each in decision["outcomes"]:
            assert derived["outcomes"][each["key"]]["low"] == each["score"]


@given(attempts(), st.data())
def test_raising_a_level_never_worsens_the_result(attempt: Attempt, data: st.DataObject) -> None:
    standard, rows = attempt
    raisable = [
        i for i, row in enumerate(rows) if "level" in row["value"] and row["value"]["level"] < 3
    ]
    assume(raisable)
    place = data.draw(st.sampled_from(raisable))
    better = copy.deepcopy(rows)
    better[place]["value"]["level"] += 1
    before = decide(standard, builders.observations(*rows))["result"]
    after = decide(standard, builders.observations(*better))["result"]
    assert ORDER[after] >= ORDER[before]


@given(attempts(), st.data())
def test_splitting_a_weight_keeps_every_score(attempt: Attempt, data: st.DataObject) -> None:
    """Two criteria of a third and two thirds of the weight, alike in all else, are as one."""
    standard, rows = attempt
    place = data.draw(st.integers(0, len(standard["criteria"]) - 1))
    split = copy.deepcopy(standard)
    one = split["criteria"][place]
    other = {**copy.deepcopy(one), "key": "Twin"}
    one["weight"] = str(Fraction(one["weight"]) / 3)
    other["weight"] = str(Fraction(other["weight"]) * 2 / 3)
    split["criteria"].append(other)
    twins = [
        {**row, "id": f"{row['id']} twin", "subject": {"kind": "criterion", "key": "Twin"}}
        for row in rows
        if row["subject"] == {"kind": "criterion", "key": one["key"]}
    ]
    before = decide(standard, builders.observations(*rows))
    after = decide(split, builders.observations(*rows, *twins))
    assert after["result"] == before["result"]
    assert after["overall"] == before["overall"]
    assert after["outcomes"] == before["outcomes"]


@given(attempts(), st.data())
def test_what_is_replaced_has_no_effect(attempt: Attempt, data: st.DataObject) -> None:
    standard, rows = attempt
    assume(rows)
    place = data.draw(st.integers(0, len(rows) - 1))
    earlier = {**copy.deepcopy(rows[place]), "id": "earlier", "note": "a slip"}
    earlier["value"] = data.draw(st.sampled_from([{}, {"level": 99}, {"cleared": True}]))
    corrected = [*rows[:place], {**rows[place], "replaces": "earlier"}, *rows[place + 1 :]]
    before = decide(standard, builders.observations(*rows))
    assert decide(standard, builders.observations(earlier, *corrected)) == before


@given(attempts(), st.data())
def test_taken_back_is_as_not_observed(attempt: Attempt, data: st.DataObject) -> None:
    standard, rows = attempt
    assume(rows)
    place = data.draw(st.integers(0, len(rows) - 1))
    back = {**rows[place], "id": "back", "value": {"cleared": True}, "replaces": rows[place]["id"]}
    without = [*rows[:place], *rows[place + 1 :]]
    taken = decide(standard, builders.observations(*rows, back))
    assert taken == decide(standard, builders.observations(*without))


@given(
    st.lists(st.tuples(st.booleans(), st.integers(1, 10**6)), min_size=1, max_size=8),
)
def test_on_the_cut_is_met_and_a_hair_above_it_is_not(found: list[tuple[bool, int]]) -> None:
    assume(any(answer for answer, _ in found))
    rows = [builders.checked(f"A{i}", weight=str(weight)) for i, (_, weight) in enumerate(found)]
    observations = builders.observations(
        *(builders.observation(f"A{i}", {"answer": each}) for i, (each, _) in enumerate(found))
    )
    total = sum(weight for _, weight in found)
    score = Fraction(sum(weight for answer, weight in found if answer), total)
    on = builders.standard(*rows, cut=str(score))
    assert decide(on, observations)["result"] == "met"
    above = min(Fraction(1), score + Fraction(1, 10**20))
    if above > score:
        hair = builders.standard(*rows, cut=str(above))
        assume(len(str(above.denominator)) <= 30)
        assert decide(hair, observations)["result"] == "not_yet_met"


@given(attempts())
def test_incomplete_exactly_when_something_is_lacking(attempt: Attempt) -> None:
    standard, rows = attempt
    decision = decide(standard, builders.observations(*rows))
    last = decision["trace"][-1]["inputs"]
    lacking = any(last[name] for name in ("missing", "blocked", "hold_points", "unassessed"))
    assert (decision["result"] == "incomplete") == lacking
    assert decision["reasons"]
    results = {each["result"] for each in decision["criteria"]}
    if results & {"missing", "blocked"}:
        assert decision["result"] == "incomplete"
