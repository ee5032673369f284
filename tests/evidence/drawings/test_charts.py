"""The common charts show what they are given, all of it."""

from __future__ import annotations

import pytest
from lxml import etree

from assessments.evidence.drawings import Dot, Mark, Series, dots, histogram, lines, scatter
from assessments.evidence.drawings.dots import SHEET_MM
from assessments.evidence.errors import EvidenceError

SVG = "{http://www.w3.org/2000/svg}"


def words(svg: str) -> str:
    return " ".join(str(element.text) for element in etree.fromstring(svg).iter(f"{SVG}text"))


def places(svg: str) -> list[tuple[float, float]]:
    """Where markers stand, in order."""
    uses = etree.fromstring(svg).iter(f"{SVG}use")
    return [(float(use.get("x", "nan")), float(use.get("y", "nan"))) for use in uses]


def test_dots_stand_where_their_values_are() -> None:
    rows = [Dot("First", 0.0), Dot("Second", 0.5, 0.25, 0.75), Dot("Third", 1.0)]
    (drawn,) = dots("met", "Met", "Words.", rows, axis="Share that met it")
    for word in ("First", "Second", "Third", "Share that met it"):
        assert word in words(drawn.svg)
    found = places(drawn.svg)
    # The ticks of the axis from 0 to 1 and then the dots, or the other way round.
    ticks = sorted(x for x, y in found if y == max(y for _, y in found))
    rings = [(x, y) for x, y in found if y != max(y for _, y in found)]
    assert [x for x, _ in rings] == pytest.approx([ticks[0], sum(ticks) / len(ticks), ticks[-1]])
    assert [y for _, y in rings] == sorted(y for _, y in rings)


def test_a_row_without_a_value_says_why() -> None:
    (drawn,) = dots("met", "Met", "Words.", [Dot("A", None, reason="all the same")], axis="Share")
    assert "all the same" in words(drawn.svg)


def test_many_rows_go_on_several_sheets_that_fit_on_a_page() -> None:
    title = "Joint between the dutchman and the stone filled to its full depth"
    rows = [Dot(f"{number}. {title}", 0.5, 0.4, 0.6) for number in range(40)]
    drawn = dots("met", "Met", "Words.", rows, axis="Share")
    assert [sheet.key for sheet in drawn] == [
        "met",
        *(f"met-{n}" for n in range(2, len(drawn) + 1)),
    ]
    assert drawn[0].title == f"Met (1 of {len(drawn)})"
    text = " ".join(words(sheet.svg) for sheet in drawn)
    assert all(f"{number}. Joint" in text for number in range(40))
    for sheet in drawn:
        width, height = (
            float(part) for part in etree.fromstring(sheet.svg).get("viewBox", "").split()[2:]
        )
        assert height / width * 150 <= SHEET_MM


def test_lines_differ_without_colour() -> None:
    series = [Series("One", [1, 2, 3], [1, 2, 3]), Series("Two", [1, 2, 3], [3, 2, 1])]
    svg = lines(
        "l", "L", "W.", series, x_label="Assessors", y_label="Phi", marks=[Mark("Cut", 2)]
    ).svg
    root = etree.fromstring(svg)
    assert len({path.get("stroke-dasharray") for path in root.iter(f"{SVG}path")}) >= 3
    for word in ("One", "Two", "Cut", "Assessors", "Phi"):
        assert word in words(svg)


def test_a_histogram_counts() -> None:
    svg = histogram("h", "H", "W.", [0.1, 0.1, 0.2, 1.0], edges=[0, 0.5, 1.0], x_label="Score").svg
    bars = [
        path for path in etree.fromstring(svg).iter(f"{SVG}path") if path.get("fill") == "#f2f3f0"
    ]
    # Three values in the first bar and one in the second: "M x y L ..." from its foot to its top.
    heights = []
    for bar in bars:
        numbers = [float(part) for part in bar.get("d", "").split() if part not in "MLz"]
        heights.append(max(numbers[1::2]) - min(numbers[1::2]))
    assert len(heights) == 2
    assert heights[0] == pytest.approx(3 * heights[1])
    assert "Trainees" in words(svg)


def test_a_scatter_shows_each_pair_and_the_line() -> None:
    plain = scatter("s", "S", "W.", [1, 2, 3], [2, 4, 6], x_label="x", y_label="y")
    fitted = scatter(
        "s", "S", "W.", [1, 2, 3], [2, 4, 6], x_label="x", y_label="y", fitted=(0.0, 2.0)
    )
    assert "Fitted line" in words(fitted.svg)
    assert "Fitted line" not in words(plain.svg)
    bottom = max(y for _, y in places(plain.svg))
    left = min(x for x, _ in places(plain.svg))
    rings = [(x, y) for x, y in places(plain.svg) if y < bottom and x > left]
    assert [x for x, _ in rings] == sorted(x for x, _ in rings)
    assert [y for _, y in rings] == sorted((y for _, y in rings), reverse=True)
    assert len(rings) == 3


def test_what_cannot_be_drawn_is_refused() -> None:
    with pytest.raises(EvidenceError, match="rows"):
        dots("d", "D", "W.", [], axis="x")
    with pytest.raises(EvidenceError, match=r"series\[0\]"):
        lines("l", "L", "W.", [Series("One", [1], [])], x_label="x", y_label="y")
    with pytest.raises(EvidenceError, match="values"):
        histogram("h", "H", "W.", [], edges=[0, 1], x_label="x")
    with pytest.raises(EvidenceError, match="edges"):
        histogram("h", "H", "W.", [1], edges=[1, 1], x_label="x")
    with pytest.raises(EvidenceError, match="x"):
        scatter("s", "S", "W.", [1], [1, 2], x_label="x", y_label="y")


def test_fourteen_short_criteria_fit_on_one_sheet() -> None:
    rows = [Dot(f"Criterion {number}", 0.5) for number in range(14)]
    assert len(dots("met", "Met", "Words.", rows, axis="Share")) == 1
