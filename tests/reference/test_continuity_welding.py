"""The chain of confirmations, beside the two rules of welding that the idea comes from.

ISO 9606-1:2017, 9.2 (clause from memory): the person responsible for welding activities, or the
examiner, confirms every six months that the welder has been welding within the range of the
qualification; this carries the qualification on for another six months. It begins on the date of
the test weld.

ASME BPVC Section IX, QW-322.1 (clause from memory): a welder who has not welded with a process
during six months or more loses the qualification for that process; welding with it inside the six
months keeps it for another six, counted from that work. Whether the day that ends them is inside is
left out here: the engine counts it in. QW-322.2: it is had again only by a new
test, on one coupon.

The cases are worked by hand on the calendar; the dates are ours.
"""

from datetime import date

from assessments.engine.qualification import (
    BROKEN,
    DUE,
    KEPT,
    Confirmed,
    Continuity,
    Kept,
    continuity_sentence,
    kept,
)

SIX_MONTHS = Continuity(every_months=6, grace_days=0)
TEST_WELD = date(2027, 3, 10)


def _stands(on: date, *confirmations: Confirmed, start: date = TEST_WELD) -> Kept:
    return kept(SIX_MONTHS, start=start, valid_until=None, confirmations=confirmations, on=on)


def test_iso_9606_confirmation_every_six_months() -> None:
    """ISO 9606-1:2017, 9.2, from memory: test weld on 10 March, confirmed in September."""
    assert _stands(date(2027, 9, 10)).word == DUE
    assert _stands(date(2027, 9, 11)).word == BROKEN
    confirmed = Confirmed(date(2027, 9, 10), date(2027, 9, 10))
    again = Confirmed(date(2028, 3, 10), date(2028, 3, 10))
    assert _stands(date(2028, 3, 10), confirmed).word == DUE
    assert _stands(date(2028, 3, 11), confirmed).word == BROKEN
    assert _stands(date(2028, 3, 11), confirmed, again).due == date(2028, 9, 10)


def test_iso_9606_two_years_take_four_confirmations() -> None:
    """ISO 9606-1:2017, 9.2, from memory: the one left out of four ends it for good."""
    days = [date(2027, 9, 1), date(2028, 2, 20), date(2028, 8, 1), date(2029, 1, 25)]
    chain = [Confirmed(day, day) for day in days]
    # 25 January 2029 and six months.
    assert _stands(date(2029, 3, 10), *chain) == Kept(
        KEPT, date(2029, 7, 25), date(2029, 7, 25), None
    )
    # Without that of February 2028 it ended six months after 1 September 2027.
    assert _stands(date(2029, 3, 10), chain[0], *chain[2:]).broken_on == date(2028, 3, 2)


def test_asme_qw_322_1_six_months_without_the_process() -> None:
    """ASME BPVC IX, QW-322.1, from memory: last welded 20 May 2027, then not until 21 November."""
    last = Confirmed(date(2027, 5, 20), date(2027, 5, 20))
    back = Confirmed(date(2027, 11, 21), date(2027, 11, 21))
    assert _stands(date(2027, 11, 21), last, back) == Kept(
        BROKEN, date(2027, 11, 20), date(2027, 11, 20), date(2027, 11, 21)
    )


def test_asme_qw_322_1_use_inside_the_six_months() -> None:
    """ASME BPVC IX, QW-322.1, from memory: welded again one day inside the six months."""
    last = Confirmed(date(2027, 5, 20), date(2027, 5, 20))
    back = Confirmed(date(2027, 11, 19), date(2027, 11, 19))
    assert _stands(date(2027, 11, 21), last, back).due == date(2028, 5, 19)


def test_asme_qw_322_2_only_a_new_test_begins_again() -> None:
    """ASME BPVC IX, QW-322.2, from memory: work after the lapse restores nothing, a test does."""
    after = [Confirmed(date(2028, 1, 5), date(2028, 1, 5))]
    assert _stands(date(2028, 1, 6), *after).word == BROKEN
    assert _stands(date(2028, 1, 6), *after, start=date(2028, 1, 5)).word == KEPT


def test_the_rule_reads_as_the_trade_says_it() -> None:
    assert "confirmed every 6 months" in continuity_sentence(SIX_MONTHS)
