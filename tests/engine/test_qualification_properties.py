"""What holds of every range, need and chain, whatever the rules."""

from datetime import date, timedelta
from fractions import Fraction
from typing import Any

from hypothesis import given, settings
from hypothesis import strategies as st

from assessments.engine.qualification import (
    BROKEN,
    Confirmed,
    Continuity,
    Range,
    covers,
    kept,
    load_rules,
    range_as_need,
    range_of,
    within,
)
from tests.faults.marks import examples

VALUES = ["bench", "ground", "scaffold", "rope"]
LOW = st.sampled_from(["1/8", "1/3", "1/2", "0.9", "1"])
HIGH = st.sampled_from(["1", "1.2", "3/2", "2", "10"])
SIZES = st.sampled_from(["1/64", "1/3", "3", "7.25", "40"])
UNITS = st.sampled_from(["in", "mm", "ft"])
FEW = settings(max_examples=examples(60), deadline=None)


def _row(key: str, **fields: Any) -> dict[str, Any]:
    return {"key": key, "title": key, "source": "Author", **fields}


@st.composite
def variables(draw: st.DrawFn, key: str) -> dict[str, Any]:
    kind = draw(st.sampled_from(["ordered", "as_assessed", "window"]))
    if kind == "ordered":
        return _row(key, kind=kind, values=VALUES, assessed=draw(st.sampled_from(VALUES)))
    if kind == "as_assessed":
        some = st.lists(st.sampled_from(VALUES), min_size=1, unique=True)
        return _row(key, kind=kind, values=VALUES, assessed=draw(some))
    low, high = draw(LOW), draw(HIGH)
    ends = draw(st.sampled_from([(low, high), (low, None), (None, high)]))
    size, unit = draw(SIZES), draw(UNITS)
    return _row(key, kind=kind, unit=unit, assessed=size, **{"from": ends[0], "to": ends[1]})


@st.composite
def ranges(draw: st.DrawFn) -> Range:
    keys = draw(st.lists(st.sampled_from("ab"), min_size=1, unique=True))
    return _range([draw(variables(key)) for key in keys])


def _range(rows: list[dict[str, Any]]) -> Range:
    return range_of(load_rules({"basis": "Author", "variables": rows}, {}))


@FEW
@given(ranges())
def test_within_is_reflexive_and_what_is_covered_may_be_asked_for(one: Range) -> None:
    assert within(one, one)
    assert covers(one, range_as_need(one)) == ()


@settings(max_examples=examples(300), deadline=None)
@given(ranges(), ranges(), ranges())
def test_within_is_transitive(one: Range, two: Range, three: Range) -> None:
    for a, b, c in ((one, two, three), (two, three, one), (three, one, two), (one, three, two)):
        if within(a, b) and within(b, c):
            assert within(a, c)


@FEW
@given(variables("a"), variables("b"), variables("a"), variables("b"))
def test_of_the_same_variables_the_wider_range_covers_the_need_for_the_narrower(
    a: dict[str, Any], b: dict[str, Any], other_a: dict[str, Any], other_b: dict[str, Any]
) -> None:
    one, two = _range([a, b]), _range([other_a, other_b])
    assert within(one, two) == (covers(two, range_as_need(one)) == ())


@FEW
@given(st.integers(0, 3), st.integers(0, 3))
def test_a_harder_assessment_never_covers_less(one: int, two: int) -> None:
    easier, harder = (
        _range([_row("a", kind="ordered", values=VALUES, assessed=VALUES[place])])
        for place in sorted((one, two))
    )
    assert within(easier, harder)
    assert within(harder, easier) == (one == two)


@FEW
@given(SIZES, UNITS, LOW, LOW, HIGH, HIGH)
def test_a_wider_window_covers_no_less(
    size: str, unit: str, low: str, other_low: str, high: str, other_high: str
) -> None:
    lows = sorted((low, other_low), key=Fraction)
    highs = sorted((high, other_high), key=Fraction)
    sizes = {"kind": "window", "unit": unit, "assessed": size}
    wide = _range([_row("a", **sizes, **{"from": lows[0], "to": highs[1]})])
    narrow = _range([_row("a", **sizes, **{"from": lows[1], "to": highs[0]})])
    open_above = _range([_row("a", **sizes, **{"from": lows[0], "to": None})])
    assert within(narrow, wide)
    assert within(wide, open_above)
    assert not within(open_above, wide)


START = date(2027, 1, 31)
DAYS = st.integers(0, 1200).map(lambda days: START + timedelta(days))
CHAIN = st.lists(
    st.tuples(DAYS, st.integers(0, 60)).map(
        lambda pair: Confirmed(pair[0], pair[0] + timedelta(pair[1]))
    ),
    max_size=8,
)


@FEW
@given(CHAIN, DAYS, st.randoms(use_true_random=False), st.integers(0, 45))
def test_the_order_of_entry_says_nothing_and_one_more_never_harms(
    chain: list[Confirmed], on: date, random: Any, grace: int
) -> None:
    rule = Continuity(every_months=6, grace_days=grace)
    whole = kept(rule, start=START, valid_until=None, confirmations=chain, on=on)
    shuffled = random.sample(chain, len(chain))
    assert kept(rule, start=START, valid_until=None, confirmations=shuffled, on=on) == whole
    fewer = kept(rule, start=START, valid_until=None, confirmations=chain[1:], on=on)
    assert fewer.counts_until is not None
    assert whole.counts_until is not None
    assert fewer.counts_until <= whole.counts_until


@FEW
@given(CHAIN, DAYS, DAYS)
def test_a_chain_once_broken_stays_broken(chain: list[Confirmed], one: date, two: date) -> None:
    rule = Continuity(every_months=6, grace_days=30)
    early, late = sorted((one, two))
    first, later = (
        kept(rule, start=START, valid_until=None, confirmations=chain, on=on)
        for on in (early, late)
    )
    if first.word == BROKEN:
        assert (later.word, later.broken_on) == (BROKEN, first.broken_on)


@FEW
@given(CHAIN, DAYS)
def test_going_by_the_day_worked_reaches_as_far_as_trying_every_order(
    chain: list[Confirmed], on: date
) -> None:
    # The rule as it is said: a confirmation counts under some day due; taken up until none does.
    rule = Continuity(every_months=6, grace_days=10)
    due = kept(rule, start=START, valid_until=None, confirmations=[], on=START).due
    assert due is not None
    known = [each for each in chain if each.signed_on <= on]
    for _ in known:
        for each in known:
            if each.worked_on <= due and each.signed_on <= due + timedelta(10):
                alone = kept(rule, start=each.worked_on, valid_until=None, confirmations=[], on=on)
                assert alone.due is not None
                due = max(due, alone.due)
    assert kept(rule, start=START, valid_until=None, confirmations=chain, on=on).due == due
