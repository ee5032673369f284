"""The chain of confirmations, day by day: cases worked by hand on the calendar."""

from datetime import date, timedelta

import pytest

from assessments.engine import EngineError
from assessments.engine.qualification import (
    BEFORE,
    BROKEN,
    DUE,
    GRACE,
    KEPT,
    LAPSED,
    Confirmed,
    Continuity,
    Kept,
    kept,
)

HALF_YEAR = Continuity(every_months=6, grace_days=30)
START = date(2027, 1, 15)
FIRST_DUE = date(2027, 7, 15)
LAST_OF_GRACE = date(2027, 8, 14)


def stands(
    on: date,
    *confirmations: Confirmed,
    rule: Continuity | None = HALF_YEAR,
    start: date = START,
    valid_until: date | None = None,
) -> Kept:
    """How the record stands on a day."""
    return kept(rule, start=start, valid_until=valid_until, confirmations=confirmations, on=on)


def signed(worked: date, days: int = 0) -> Confirmed:
    """Work signed for so many days after it was done."""
    return Confirmed(worked, worked + timedelta(days))


@pytest.mark.parametrize(
    ("on", "word"),
    [
        (date(2027, 1, 14), BEFORE),
        (date(2027, 1, 15), KEPT),
        (date(2027, 6, 14), KEPT),
        (date(2027, 6, 15), DUE),  # 30 days before 15 July
        (date(2027, 7, 15), DUE),
        (date(2027, 7, 16), GRACE),
        (date(2027, 8, 14), GRACE),  # 30 days after 15 July
        (date(2027, 8, 15), BROKEN),
        (date(2030, 1, 1), BROKEN),
    ],
)
def test_the_words_change_on_the_days_of_the_rule(on: date, word: str) -> None:
    found = stands(on)
    broken_on = date(2027, 8, 15) if word == BROKEN else None
    assert found == Kept(word, FIRST_DUE, LAST_OF_GRACE, broken_on)


# Start, months, the day due: a month that lacks the day gives its last one.
MONTHS = [
    (date(2027, 8, 31), 6, date(2028, 2, 29)),
    (date(2026, 8, 31), 6, date(2027, 2, 28)),
    (date(2027, 8, 29), 6, date(2028, 2, 29)),
    (date(2028, 2, 29), 12, date(2029, 2, 28)),
    (date(2028, 2, 29), 6, date(2028, 8, 29)),
    (date(2027, 3, 31), 1, date(2027, 4, 30)),
    (date(2027, 12, 31), 2, date(2028, 2, 29)),
    (date(2027, 12, 15), 6, date(2028, 6, 15)),
    (date(2027, 1, 1), 24, date(2029, 1, 1)),
]


@pytest.mark.parametrize(("start", "months", "due"), MONTHS)
def test_months_end_with_the_month(start: date, months: int, due: date) -> None:
    rule = Continuity(every_months=months, grace_days=0)
    assert stands(start, rule=rule, start=start).due == due
    # A confirmation reaches as far as the start of a record would.
    early = start - timedelta(10)
    assert stands(start, signed(start), rule=rule, start=early).due == due


@pytest.mark.parametrize(
    ("worked", "signed_on", "due"),
    [
        (date(2027, 7, 15), date(2027, 7, 15), date(2028, 1, 15)),  # the day due itself
        (date(2027, 7, 15), date(2027, 8, 14), date(2028, 1, 15)),  # the last day of grace
        (date(2027, 7, 15), date(2027, 8, 15), FIRST_DUE),  # signed a day too late
        (date(2027, 7, 16), date(2027, 7, 16), FIRST_DUE),  # worked a day too late
        (date(2027, 2, 1), date(2027, 7, 1), date(2027, 8, 1)),  # counted from the work
        (START, START, FIRST_DUE),
        (date(2026, 12, 1), date(2027, 2, 1), FIRST_DUE),  # work before the record adds nothing
    ],
)
def test_what_counts_as_a_confirmation(worked: date, signed_on: date, due: date) -> None:
    assert stands(date(2027, 9, 1), Confirmed(worked, signed_on)).due == due


def test_only_what_was_signed_by_then_is_known() -> None:
    one = Confirmed(date(2027, 7, 10), date(2027, 8, 1))
    assert stands(date(2027, 7, 31), one).word == GRACE
    assert stands(date(2027, 8, 1), one) == Kept(KEPT, date(2028, 1, 10), date(2028, 2, 9), None)


def test_a_chain_of_three_in_any_order_of_entry() -> None:
    chain = [signed(date(2028, 6, 1)), signed(date(2027, 7, 1)), signed(date(2027, 12, 20))]
    # 1 July 2027 -> 1 January 2028; 20 December -> 20 June 2028; 1 June -> 1 December 2028.
    assert stands(date(2028, 6, 2), *chain) == Kept(
        KEPT, date(2028, 12, 1), date(2028, 12, 31), None
    )
    assert stands(date(2028, 5, 31), *chain).due == date(2028, 6, 20)


def test_nothing_after_a_gap_takes_the_record_up_again() -> None:
    late = [signed(date(2027, 7, 16)), signed(date(2027, 12, 1)), signed(date(2028, 1, 1))]
    assert stands(date(2028, 1, 2), *late) == Kept(
        BROKEN, FIRST_DUE, LAST_OF_GRACE, date(2027, 8, 15)
    )


def test_an_early_confirmation_entered_late_never_draws_the_day_back() -> None:
    chain = [signed(date(2027, 6, 1)), Confirmed(date(2027, 3, 1), date(2027, 7, 1))]
    assert stands(date(2027, 7, 2), *chain).due == date(2027, 12, 1)


@pytest.mark.parametrize(
    ("on", "found"),
    [
        (date(2027, 7, 31), Kept(GRACE, FIRST_DUE, date(2027, 7, 31), None)),
        (date(2027, 8, 1), Kept(LAPSED, FIRST_DUE, date(2027, 7, 31), None)),
        (date(2028, 1, 1), Kept(LAPSED, FIRST_DUE, date(2027, 7, 31), None)),
    ],
)
def test_a_record_lapses_after_its_own_last_day(on: date, found: Kept) -> None:
    assert stands(on, valid_until=date(2027, 7, 31)) == found


def test_a_record_that_was_broken_and_then_lapsed_says_both() -> None:
    assert stands(date(2027, 12, 2), valid_until=date(2027, 12, 1)) == Kept(
        LAPSED, FIRST_DUE, LAST_OF_GRACE, date(2027, 8, 15)
    )


@pytest.mark.parametrize("last", [FIRST_DUE, FIRST_DUE - timedelta(1)])
def test_nothing_is_asked_for_that_would_not_carry_it_further(last: date) -> None:
    assert stands(last, valid_until=last) == Kept(KEPT, FIRST_DUE, last, None)


def test_a_confirmation_is_asked_for_when_it_gains_a_day() -> None:
    assert stands(FIRST_DUE, valid_until=FIRST_DUE + timedelta(1)).word == DUE


@pytest.mark.parametrize(
    ("on", "word"),
    [
        (date(2027, 1, 14), BEFORE),
        (date(2029, 1, 14), KEPT),
        (date(2029, 1, 15), KEPT),
        (date(2029, 1, 16), LAPSED),
    ],
)
def test_without_a_rule_the_last_day_alone_counts(on: date, word: str) -> None:
    last = date(2029, 1, 15)
    assert stands(on, rule=None, valid_until=last) == Kept(word, None, last, None)


def test_without_a_rule_and_a_last_day_there_is_no_end() -> None:
    assert stands(date(2099, 1, 1), rule=None) == Kept(KEPT, None, None, None)


def test_without_grace_the_day_due_is_the_last() -> None:
    rule = Continuity(every_months=6, grace_days=0)
    assert stands(FIRST_DUE, rule=rule).word == DUE
    assert stands(FIRST_DUE + timedelta(1), rule=rule) == Kept(
        BROKEN, FIRST_DUE, FIRST_DUE, FIRST_DUE + timedelta(1)
    )


def test_work_cannot_be_confirmed_before_it_is_done() -> None:
    with pytest.raises(EngineError, match="once it is done") as caught:
        Confirmed(date(2027, 2, 2), date(2027, 2, 1))
    assert caught.value.path == "signed_on"
