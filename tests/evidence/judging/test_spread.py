"""What judges are shown between rounds."""

from __future__ import annotations

import re
from math import nan

import pytest

from assessments.evidence.errors import EvidenceError
from assessments.evidence.judging import spread
from tests.evidence.judging.builders import ESTIMATES, ITEMS, table


def test_estimates_are_shown_by_letter() -> None:
    section = spread(ESTIMATES, items=ITEMS)
    shown = table(section, "criteria")
    assert shown.columns == (
        *("Criterion", "Mean", "Lowest", "Highest"),
        *("Judge A", "Judge B", "Judge C"),
    )
    assert shown.rows[0][1:] == pytest.approx((0.7, 0.6, 0.8, 0.6, 0.7, 0.8))
    drawn = section.drawings[0]
    assert "Face flush: 60 % to 80 %, mean 70 %." in drawn.alternative
    # Every letter is on the drawing, as text.
    assert all(f">{letter}</text>" in drawn.svg for letter in "ABC")


def test_many_criteria_are_drawn_on_sheets_that_fit_a_page_on_one_scale() -> None:
    items = [f"Criterion {number}" for number in range(40)]
    given = [[0.30 + number / 100 for number in range(40)]] * 2 + [[0.5] * 40]
    drawings = spread(given, items=items).drawings
    assert len(drawings) > 1
    assert len({drawing.key for drawing in drawings}) == len(drawings)
    for drawing in drawings:
        box = re.search(r'viewBox="0 0 ([0-9.]+) ([0-9.]+)"', drawing.svg)
        assert box is not None
        wide, high = map(float, box.groups())
        assert high / wide * 150 <= 190  # millimetres: the type area of a page is 220 high
        assert all(f">{tick}</text>" in drawing.svg for tick in (40, 60))
    said = " ".join(drawing.alternative for drawing in drawings)
    assert all(f"{item}:" in said for item in items)


def test_change_counts_judges_of_both_rounds() -> None:
    section = spread(
        [[0.6, 0.8], [0.7, nan], [0.8, 0.7]],
        items=ITEMS,
        previous=[[0.5, 0.8], [nan, 0.9], [0.5, 0.4]],
    )
    rows = table(section, "criteria").rows
    assert [row[4] for row in rows] == pytest.approx([0.2, 0.15])
    cuts = table(section, "cuts").rows
    assert cuts[0][1:] == pytest.approx((0.7, 0.65, 0.05))
    assert cuts[1][1:] == (None, None, None)
    assert "missing from Judge B" in section.summary
    assert "in the round before" in section.summary


def test_cuts_take_weights() -> None:
    section = spread(ESTIMATES, items=ITEMS, weights=(3, 1))
    assert [row[1] for row in table(section, "cuts").rows] == pytest.approx([0.65, 0.75, 0.775])


def test_far_apart_is_to_be_talked_over() -> None:
    section = spread([[0.2, 0.8], [0.9, 0.8]], items=ITEMS)
    assert "Face flush (20 % to 90 %). Talk these over" in section.summary
    assert "On no criterion" in spread(ESTIMATES, items=ITEMS).summary


def test_judges_alike_share_a_mark() -> None:
    section = spread([[0.6, 0.8], [0.6, 0.9]], items=ITEMS)
    assert ">A B</text>" in section.drawings[0].svg


def test_key_keeps_rounds_apart() -> None:
    section = spread(ESTIMATES, items=ITEMS, key="round-2")
    assert section.key == "round-2"
    assert section.drawings[0].key == "round-2-estimates"


@pytest.mark.parametrize("estimates", [[], [[nan, nan]]])
def test_round_without_estimates(estimates: list[list[float]]) -> None:
    section = spread(estimates, items=ITEMS)
    assert section.summary == "No judge has estimated a criterion yet."
    assert section.drawings == ()


@pytest.mark.parametrize("estimates", [0.5, [[0.5]], [[0.5, 1.5]]])
def test_what_cannot_be_used(estimates: object) -> None:
    with pytest.raises(EvidenceError) as caught:
        spread(estimates, items=ITEMS)  # type: ignore[arg-type]
    assert caught.value.path.startswith("estimates")


def test_more_judges_than_letters() -> None:
    section = spread([[0.5, 0.6]] * 27, items=ITEMS)
    assert table(section, "cuts").rows[-1][0] == "Judge AA"


def test_judges_keep_their_letters() -> None:
    # Judge B stood down.
    section = spread([[0.6, 0.8], [0.8, 0.7]], items=ITEMS, judges=["A", "C"])
    assert [row[0] for row in table(section, "cuts").rows] == ["Judge A", "Judge C"]
    assert ">C</text>" in section.drawings[0].svg
    assert ">B</text>" not in section.drawings[0].svg
