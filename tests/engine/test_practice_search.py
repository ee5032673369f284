"""The search for the smallest changes by itself: its order, its steps, where it stops.

Steps are counted by hand: one for each set that is entered, and one for each rise that is tried
or is passed over as no smaller than the best.
"""

from __future__ import annotations

from fractions import Fraction

import pytest

from assessments.engine.practice.search import BUDGET, Choice, Found, Lack, search

HALF = Fraction(1, 2)
QUARTER = Fraction(1, 4)


def alike(count: int, *options: Fraction | int, needed: bool = False) -> list[Choice]:
    """Choices at the positions 0, 1, 2, …, each with a score of 0."""
    return [Choice(i, 0, options or (1,), needed) for i in range(count)]


def steps(choices: list[Choice], lacks: list[Lack]) -> int:
    """The least budget within which the search proves what it finds."""
    return next(budget for budget in range(1000) if search(choices, lacks, budget).proven)


def test_the_budget_is_the_published_one() -> None:
    assert BUDGET == 50_000  # FORMATS.md, Practice


def test_two_of_three() -> None:
    """{} 1; one of three, cut off at once, 1; two of three: 1, then

    {0} 1, {0,1} 1 and its rises 3, {0,2} 1 and 1 passed over, {1} 1, {1,2} 1 and 1: 13 in all.
    """
    choices, lacks = alike(3), [Lack({0: 1, 1: 1, 2: 1}, 2)]
    assert steps(choices, lacks) == 13
    assert search(choices, lacks, 13) == Found({0: 1, 1: 1}, True)
    # A best was found by the eighth step, but not yet that no other of its size is smaller.
    assert search(choices, lacks, 12) == Found({0: 1, 1: 1}, False)
    assert search(choices, lacks, 8) == Found({0: 1, 1: 1}, False)
    assert search(choices, lacks, 0) == Found({0: 1, 1: 1}, False)


def test_a_set_is_cut_off_where_one_lack_stays_open() -> None:
    """{} 1; one: entered and cut off by the second lack 1; two: 1, {0} 1 cut off, {1} 1,

    {1,2} 1 and its rises 3: 9 in all. Only 1 and 2 help the second lack, which needs both.
    """
    lacks = [Lack({0: 5, 1: 1, 2: 1}, 1), Lack({1: 1, 2: 1}, 2)]
    assert steps(alike(3), lacks) == 9
    assert search(alike(3), lacks) == Found({1: 1, 2: 1}, True)


def test_a_set_is_cut_off_by_what_comes_after_it_alone() -> None:
    """{} 1, one 1 cut off, two 1, {0} 1, {0,1} 1 and its rises 3, {0,2} 1 and 1 passed over,

    {1} 1 cut off, for 2 alone comes after it: 11 in all.
    """
    lacks = [Lack({0: 2, 1: 1, 2: 1}, 3)]
    assert steps(alike(3), lacks) == 11
    assert search(alike(3), lacks) == Found({0: 1, 1: 1}, True)


def test_smallest_rises_of_a_set() -> None:
    """{} 1 and the first rise 1; 0 to ¼ 1, 1 to 1 1, 2 to ¼ 1: best so far, 1½; then 2 to 1,

    0 to ½ and 0 to 1 are passed over, 1 each.
    """
    choices = [
        Choice(0, 0, (QUARTER, HALF, 1), True),
        Choice(1, 0, (1,), True),
        Choice(2, 0, (QUARTER, 1), True),
    ]
    lacks = [Lack({0: 1, 1: 1, 2: 1}, Fraction(3, 2))]
    assert steps(choices, lacks) == 8
    assert search(choices, lacks) == Found({0: QUARTER, 1: 1, 2: QUARTER}, True)


def test_a_larger_rise_early_may_allow_smaller_ones_later() -> None:
    """{} 1 and the first rise 1; 0 to ¼ 1, 1 to ¼ 1 not enough, 1 to 1 1, 2 to ¼ 1: sum 1½;

    0 to ½ 1, 1 to ¼ 1, 2 to ¼ 1: sum 1; 1 to 1 and 0 to ⅝ passed over, 1 each: 11 in all.
    """
    choices = [
        Choice(0, 0, (QUARTER, HALF, Fraction(5, 8)), True),
        Choice(1, 0, (QUARTER, 1), True),
        Choice(2, 0, (QUARTER,), True),
    ]
    lacks = [Lack({0: 4, 1: 1}, 2)]
    assert steps(choices, lacks) == 11
    assert search(choices, lacks) == Found({0: HALF, 1: QUARTER, 2: QUARTER}, True)


def test_a_smaller_sum_found_later_takes_the_place_of_the_best() -> None:
    choices = alike(2, HALF, 1)
    # 0 alone must rise to 1; 1 weighs double, so that half of it is enough.
    lacks = [Lack({0: 1, 1: 2}, 1)]
    assert search(choices, lacks) == Found({1: HALF}, True)
    assert search(choices, lacks, 6) == Found({0: 1}, False)


def test_equal_sums_go_to_the_first_in_the_order_of_the_standard() -> None:
    assert search(alike(3), [Lack({0: 1, 1: 9, 2: 9}, 1)]) == Found({0: 1}, True)
    choices = alike(2, HALF, 1, needed=True)
    assert search(choices, [Lack({0: 1, 1: 1}, Fraction(3, 2))]) == Found({0: HALF, 1: 1}, True)


@pytest.mark.parametrize(
    ("amount", "targets"),
    [
        (HALF, {0: HALF}),
        (HALF + Fraction(1, 10**20), {0: 1}),
        (1, {0: 1}),
        (1 + Fraction(1, 10**20), None),
    ],
)
def test_on_the_amount_is_enough_and_a_hair_below_it_is_not(
    amount: Fraction | int, targets: dict[int, Fraction | int] | None
) -> None:
    assert search(alike(1, HALF, 1), [Lack({0: 1}, amount)]) == Found(targets, True)


def test_scores_of_unlike_denominators_are_compared_exactly() -> None:
    choices = [
        Choice(0, Fraction(1, 7), (Fraction(3, 7), 1), False),
        Choice(4, Fraction(1, 3), (Fraction(2, 3), 1), False),
    ]
    # The rises: 2/7 and 6/7, or 1/3 and 2/3. Position 4 alone gives 2 × 1/3.
    lacks = [Lack({0: 2, 4: 2}, Fraction(2, 3))]
    assert search(choices, lacks) == Found({4: Fraction(2, 3)}, True)
    lacks = [Lack({0: 2, 4: 2}, Fraction(4, 7))]
    assert search(choices, lacks) == Found({0: Fraction(3, 7)}, True)


def test_what_is_needed_is_in_every_set() -> None:
    choices = [Choice(0, 0, (HALF, 1), True), Choice(1, 0, (1,), False), Choice(2, 0, (1,), True)]
    assert search(choices, []) == Found({0: HALF, 2: 1}, True)
    lacks = [Lack({1: 1}, 1)]
    assert search(choices, lacks) == Found({0: HALF, 1: 1, 2: 1}, True)


def test_the_size_of_what_is_needed_counts_from_the_start() -> None:
    """{} 1, one: 1; {0} with the needed 1 and its rises 3: best, 2; {1} 1 and 1 passed over."""
    choices = [Choice(0, 0, (1,), False), Choice(1, 0, (1,), False), Choice(2, 0, (1,), True)]
    lacks = [Lack({0: 1, 1: 1}, 1)]
    assert steps(choices, lacks) == 8
    assert search(choices, lacks) == Found({2: 1, 0: 1}, True)


def test_out_of_steps_the_least_helpful_are_left_out_first() -> None:
    # Over both lacks 0 helps 3, 1 helps 5, 2 helps 5, 3 helps 6. Left out are 0 and 3, though 3
    # helps most: 1 and 2 are needed, and fill both lacks.
    lacks = [Lack({0: 2, 1: 5, 3: 3}, 5), Lack({0: 1, 2: 5, 3: 3}, 5)]
    assert search(alike(4), lacks, 0) == Found({1: 1, 2: 1}, False)


def test_out_of_steps_equal_help_goes_by_the_order_and_rises_are_whole() -> None:
    choices = [*alike(3, HALF, 1), Choice(3, 0, (HALF, 1), True)]
    lacks = [Lack({0: 2, 1: 2, 2: 2}, 3)]
    assert search(choices, lacks, 0) == Found({3: 1, 0: 1, 1: 1}, False)


def test_out_of_steps_the_most_helpful_stays() -> None:
    lacks = [Lack({0: 2, 1: 2, 2: 3}, 3)]
    assert search(alike(3), lacks, 0) == Found({2: 1}, False)


def test_out_of_steps_help_is_added_up_over_the_lacks() -> None:
    lacks = [Lack({0: 3, 1: 2}, 2), Lack({1: 2, 2: 3}, 2)]
    assert search(alike(3), lacks, 0) == Found({1: 1}, False)
