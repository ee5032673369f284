"""What to practise: it suffices, and nothing smaller does."""

from __future__ import annotations

import copy
import itertools
from fractions import Fraction
from typing import Any

from hypothesis import assume, given

from assessments.engine import decide, load_standard
from assessments.engine.findings import findings, hold_points
from assessments.engine.observations import load_observations
from assessments.engine.practice import practice
from assessments.engine.practice.search import Choice, Lack, search
from assessments.engine.rule import give
from tests.engine import builders
from tests.engine.documents import attempts

Attempt = tuple[dict[str, Any], list[dict[str, Any]]]
GOOD: dict[str, Any] = {
    "measured": ["7.5", "7.5", "7.5"],
    "checked": {"answer": True},
    "counted": {"count": 0},
    "timed": builders.minutes(70),
}


def good(criterion: dict[str, Any], score: Fraction) -> dict[str, Any]:
    """A value that gives a criterion this score."""
    if criterion["kind"] == "rated":
        points = [Fraction(each["points"]) for each in criterion["levels"]]
        return {"level": points.index(score * points[-1])}
    if criterion["kind"] != "measured":
        return dict(GOOD[criterion["kind"]])
    return builders.readings(*GOOD["measured"][: criterion["readings"]])


@given(attempts())
def test_the_changes_would_have_met_the_standard(attempt: Attempt) -> None:
    standard, rows = attempt
    # A spread of one reading is always 0: no piece could mend a lower limit on it.
    assume(all(each.get("statistic") != "spread" for each in standard["criteria"]))
    decision = decide(standard, builders.observations(*rows))
    if decision["result"] != "not_yet_met":
        assert decision["practice"] == []
        return
    rule = standard["pass_rule"]
    assume(Fraction(rule["cut"]) + Fraction(rule["band"] or 0) <= 1)
    assert decision["practice_proven"]
    assert decision["practice"]
    criteria = {each["key"]: each for each in standard["criteria"]}
    changes = {each["criterion"]: Fraction(each["score_needed"]) for each in decision["practice"]}
    better = copy.deepcopy(rows)
    for row in better:
        key = row["subject"]["key"]
        if key in changes and "cleared" not in row["value"]:
            row["value"] = good(criteria[key], changes[key])
    after = decide(standard, builders.observations(*better))
    assert after["result"] == "met"


@given(attempts(whole=True))
def test_no_smaller_set_would_do(attempt: Attempt) -> None:
    """Against all sets and all rises of one assessor's scores, counted out one by one."""
    standard, rows = attempt
    decision = decide(standard, builders.observations(*rows))
    if decision["result"] != "not_yet_met":
        return
    scores = {
        each["key"]: Fraction(each["score"])
        for each in decision["criteria"]
        if each["score"] is not None
    }
    criteria = {each["key"]: each for each in standard["criteria"] if each["key"] in scores}
    levels = [Fraction(0), Fraction(1, 4), Fraction(1, 2), Fraction(1)]
    steps = {
        key: [
            score
            for score in (levels if each["kind"] == "rated" else [Fraction(1)])
            if score > scores[key]
        ]
        for key, each in criteria.items()
    }
    best = None
    for wanted in itertools.product(*([scores[key], *steps[key]] for key in criteria)):
        after = dict(zip(criteria, wanted, strict=True))
        if passes(standard, criteria, after):
            raised = [key for key in criteria if after[key] > scores[key]]
            size = (len(raised), sum(after.values()) - sum(scores.values()))
            best = size if best is None else min(best, size)
    found = decision["practice"]
    total = sum(Fraction(each["score_needed"]) - Fraction(each["score_now"]) for each in found)
    if best is None:
        assert standard["pass_rule"]["band"] == "0.1"
    else:
        assert (len(found), total) == best


def passes(standard: dict[str, Any], criteria: dict[str, Any], scores: dict[str, Any]) -> bool:
    """The pass rule for one assessor, written out plainly a second time."""
    rule = standard["pass_rule"]
    for key, each in criteria.items():
        least = Fraction(1, 2) if each["kind"] == "rated" else 1
        if rule["critical"] and each["critical"] and scores[key] < least:
            return False
    weights = {key: Fraction(each["weight"]) for key, each in criteria.items()}
    overall = sum(weights[key] * scores[key] for key in criteria) / sum(weights.values())
    if overall < Fraction(rule["cut"]) + Fraction(rule["band"] or 0):
        return False
    for outcome in standard["outcomes"]:
        part = {
            key: weights[key] * Fraction(each["outcomes"][outcome["key"]])
            for key, each in criteria.items()
            if outcome["key"] in each["outcomes"]
        }
        if rule["outcome_minima"] and outcome["minimum"] is not None and part:
            score = sum(part[key] * scores[key] for key in part) / sum(part.values())
            if score < Fraction(outcome["minimum"]):
                return False
    return True


def test_a_search_too_large_says_so_and_still_suffices() -> None:
    choices = [Choice(i, 0, (1,), False) for i in range(40)]
    lacks = [
        Lack({i: 10 + i % 7 for i in range(40)}, 260),
        Lack({i: 10 + (i * 5) % 11 for i in range(40)}, 300),
    ]
    found = search(choices, lacks, budget=500)
    assert not found.proven
    assert found.targets is not None
    for lack in lacks:
        assert sum(lack.weights[i] for i in found.targets) >= lack.amount
    for left_out in found.targets:
        rest = [i for i in found.targets if i != left_out]
        assert any(sum(lack.weights[i] for i in rest) < lack.amount for lack in lacks)


def test_a_best_so_far_is_kept_when_the_search_stops() -> None:
    choices = [Choice(i, 0, (Fraction(1, 2), 1), False) for i in range(6)]
    found = search(choices, [Lack(dict.fromkeys(range(6), 1), 2)], budget=12)
    assert not found.proven
    assert found.targets is not None
    assert sum(found.targets.values()) >= 2


def test_nothing_would_do() -> None:
    found = search([Choice(0, 0, (1,), False)], [Lack({0: 1}, 2)])
    assert (found.targets, found.proven) == (None, True)


def practise(*criteria: dict[str, Any], **values: dict[str, Any]) -> list[dict[str, Any]]:
    """The practice for criteria that are all needed."""
    rows = [builders.observation(key, value) for key, value in values.items()]
    decision = decide(builders.standard(*criteria, cut="1"), builders.observations(*rows))
    found: list[dict[str, Any]] = decision["practice"]
    return found


def test_words() -> None:
    found = practise(
        builders.rated(),
        builders.checked(),
        builders.counted(),
        builders.timed(),
        builders.measured(readings=2),
        R={"level": 1},
        A={"answer": False},
        N={"count": 5},
        T=builders.minutes(45),
        M=builders.readings("4", "13"),
    )
    said = [(each["now"], each["needed"], each["by"]) for each in found]
    assert said == [
        ("level 1", "level 3: Worth 4", "2 levels"),
        ("no", "yes", None),
        ("5", "2 or less", "3"),
        ("45 min", "60 min or more", "15 min"),
        ("4 mm to 13 mm", "5 mm to 10 mm", "3 mm"),
    ]
    assert found[0]["sentence"] == (
        "R, As drawn: level 1 was found; needed is level 3: Worth 4, a difference of 2 levels."
    )


def test_words_for_one_level() -> None:
    rated = builders.rated()
    rated["levels"][3]["description"] = "Set to the mark X."
    (change,) = practise(rated, R={"level": 2})
    assert (change["needed"], change["by"]) == ("level 3: Set to the mark X", "1 level")


def test_words_for_a_guard_band() -> None:
    # w = r·k·u = 2·√(1²/12) = 0.577350…; allowed up to 9.422649 mm, 0.577351 mm from 10 mm.
    guarded = builders.measured(
        lower=None, upper="10", decision_rule={"kind": "guard_band", "r": "1"}
    )
    rows = builders.observations(builders.observation("M", builders.readings("10")))
    decision = decide(builders.standard(guarded, cut="1", guard_band="not_met"), rows)
    (change,) = decision["practice"]
    assert change["needed"] == "9.422649 mm or less"
    assert change["by"] == "0.577351 mm"
    edge = builders.observations(builders.observation("M", builders.readings("9.422649")))
    assert decide(builders.standard(guarded, cut="1"), edge)["result"] == "met"
    over = builders.observations(builders.observation("M", builders.readings("9.42265")))
    assert decide(builders.standard(guarded, cut="1"), over)["result"] == "undecided"


def test_where_the_band_reaches_above_one_the_cut_is_aimed_at() -> None:
    rows = builders.observations(
        builders.observation("A", {"answer": False}), builders.observation("B", {"answer": False})
    )
    standard = builders.standard(builders.checked(), builders.checked("B"), cut="0.95", band="0.1")
    assert [each["criterion"] for each in decide(standard, rows)["practice"]] == ["A", "B"]


def changes(standard: dict[str, Any], *rows: dict[str, Any]) -> list[tuple[str, str]]:
    """(criterion, score needed) of a decision's practice."""
    found = decide(standard, builders.observations(*rows))["practice"]
    return [(each["criterion"], each["score_needed"]) for each in found]


def answers(**found: bool) -> list[dict[str, Any]]:
    """Observations of checked criteria."""
    return [builders.observation(key, {"answer": answer}) for key, answer in found.items()]


def test_a_yes_or_no_has_no_difference_to_name() -> None:
    (change,) = practise(builders.checked(), A={"answer": False})
    assert change["sentence"] == "A, As drawn: no was found; needed is yes."


def test_a_critical_criterion_rises_to_what_meets_it_and_no_less() -> None:
    standard = builders.standard(builders.rated(critical=True), builders.checked(), cut="0.25")
    rows = [builders.observation("R", {"level": 0}), *answers(A=True)]
    assert changes(standard, *rows) == [("R", "0.5")]


def test_a_critical_criterion_that_is_met_need_not_rise() -> None:
    standard = builders.standard(builders.rated(critical=True), builders.checked(), cut="0.75")
    rows = [builders.observation("R", {"level": 2}), *answers(A=False)]
    assert changes(standard, *rows) == [("A", "1")]


def test_one_assessor_must_reach_the_end_of_the_band() -> None:
    four = [builders.checked(key) for key in "ABCD"]
    rows = answers(A=True, B=False, C=False, D=False)
    assert changes(builders.standard(*four, cut="0.5"), *rows) == [("B", "1")]
    banded = builders.standard(*four, cut="0.5", band="0.1")
    assert changes(banded, *rows) == [("B", "1"), ("C", "1")]
    ten = [builders.checked("A", weight="9"), builders.checked("B")]
    whole = builders.standard(*ten, cut="0.9", band="0.1")
    assert changes(whole, *answers(A=False, B=False)) == [("A", "1"), ("B", "1")]


def test_two_assessors_must_reach_the_cut_alone() -> None:
    four = [builders.checked(key) for key in "ABCD"]
    rows = [
        {**row, "id": f"{name} {row['id']}", "assessor": name}
        for name in ("ann", "ben")
        for row in answers(A=True, B=False, C=False, D=False)
    ]
    assert changes(builders.standard(*four, cut="0.5", band="0.1"), *rows) == [("B", "1")]


def test_what_is_met_needs_no_practice_and_that_is_proven() -> None:
    decision = decide(builders.standard(), builders.observations(*answers(A=True)))
    assert (decision["practice"], decision["practice_proven"]) == ([], True)


def test_minima_that_are_not_asked_for_need_no_change() -> None:
    outcomes = [{"key": key, "statement": "Fits", "minimum": "1"} for key in ("O1", "O2")]
    two = [builders.checked("A"), builders.checked("B", outcomes={"O2": "1"})]
    rows = answers(A=False, B=False)
    asked = builders.standard(*two, outcomes=outcomes, outcome_minima=True)
    assert changes(asked, *rows) == [("A", "1"), ("B", "1")]
    assert changes(builders.standard(*two, outcomes=outcomes), *rows) == [("A", "1")]


def test_what_the_strictest_assessor_saw_is_named() -> None:
    standard = builders.standard(builders.rated(), cut="0.5", required=2, combine="lower")
    rows = [
        builders.observation("R", {"level": level}, assessor)
        for assessor, level in (("ann", 2), ("ben", 0), ("cleo", 1))
    ]
    (change,) = decide(standard, builders.observations(*rows))["practice"]
    assert (change["now"], change["by"]) == ("level 0", "2 levels")


def test_out_of_steps_only_what_is_lacking_says_who_helps_most() -> None:
    """A adds 3 and B 2 to the overall score, which lacks 2.

    O2, to which B would add 10, is on its minimum already.
    """
    standard = load_standard(
        builders.standard(
            builders.checked("A", weight="3"),
            builders.checked("B", weight="2", outcomes={"O2": "5"}),
            builders.checked("C", weight="5", outcomes={"O2": "10"}),
            outcomes=[
                {"key": "O1", "statement": "Cuts true", "minimum": None},
                {"key": "O2", "statement": "Fits tight", "minimum": "5/6"},
            ],
            outcome_minima=True,
            cut="0.7",
        )
    )
    rows = builders.observations(*answers(A=False, B=False, C=True))
    sheet = load_observations(rows, standard)
    found = findings(standard, sheet, hold_points(standard, sheet))
    made, proven = practice(standard, sheet, found, give(standard, found), budget=0)
    assert [each["criterion"] for each in made] == ["A"]
    assert not proven
