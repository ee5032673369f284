"""The number line: its drawing is measured, and its words are read."""

import xml.etree.ElementTree as ET
from itertools import pairwise
from typing import Any

import pytest

from assessments.engine.numberline import figures
from assessments.numberline import CHARACTER, WORDS, number_line_svg

SVG = "{http://www.w3.org/2000/svg}"
CRITERION: dict[str, Any] = {
    "key": "joint",
    "title": "Joint width",
    "stage": "set",
    "kind": "measured",
    "critical": False,
    "not_applicable": False,
    "weight": "1",
    "outcomes": {"O1": "1"},
    "guidance": "",
    "quantity": "length",
    "unit": "in",
    "readings": 4,
    "statistic": "each",
    "limits": {"lower": "3/16", "upper": "5/16"},
    "limits_source": "invented for this test",
    "instrument": {
        "name": "steel rule",
        "maximum_permissible_error": "0",
        "resolution": "1/64",
        "ends": 2,
    },
    "decision_rule": {"kind": "guard_band", "r": "1"},
    "coverage_factor": "2",
    "minimum_ratio": None,
}
SIMPLE = {"kind": "simple"}
READINGS = ("1/4", "1/4", "9/32", "17/64")


def drawn(*readings: str, **changes: Any) -> dict[str, Any]:
    criterion = {**CRITERION, "readings": max(len(readings), 1), **changes}
    unit = criterion["unit"]
    taken = [{"typed": text, "value": text, "unit": unit} for text in readings]
    return figures(criterion, {"readings": taken} if taken else None)


def draw(*readings: str, width: int = 480, result: str | None = None, **changes: Any) -> ET.Element:
    what = {**drawn(*readings, **changes), "result": result}
    return ET.fromstring(number_line_svg(what, title="Joint width", width=width))


def texts(svg: ET.Element) -> list[str]:
    return ["".join(each.itertext()) for each in svg.iter(f"{SVG}text")]


def limit_places(svg: ET.Element) -> list[float]:
    """Where the strokes of the limits stand: the only ones 3 wide."""
    return [
        float(each.get("d", "")[1:].split()[0])
        for each in svg.iter(f"{SVG}path")
        if each.get("stroke-width") == "3"
    ]


def dots(svg: ET.Element) -> list[tuple[float, float]]:
    """The middles of the readings, without the one in the legend, which comes last."""
    return [
        (float(each.get("cx", "")), float(each.get("cy", ""))) for each in svg.iter(f"{SVG}circle")
    ][:-1]


def hatchings(svg: ET.Element) -> int:
    return sum(each.get("stroke-width") == "1.3" for each in svg.iter(f"{SVG}path"))


def test_tells_what_it_shows_without_seeing_it() -> None:
    svg = draw(*READINGS, result="met")
    assert svg.get("role") == "img"
    assert svg.findtext(f"{SVG}title") == "Joint width"
    said = svg.findtext(f"{SVG}desc") or ""
    assert said.startswith("Lower limit 3/16 in. Upper limit 5/16 in. Guard band up to ")
    assert said.endswith(
        "Readings: 1/4 in, 1/4 in, 9/32 in, 17/64 in. Readings 1/4 in to 9/32 in: met."
    )


def test_needs_no_stylesheet_and_no_colour() -> None:
    written = number_line_svg(drawn(*READINGS), title="Joint width")
    assert "style" not in written
    assert "class=" not in written
    assert "id=" not in written
    paints = {
        each.get(name) for each in ET.fromstring(written).iter() for name in ("fill", "stroke")
    }
    assert paints - {None} == {"#000", "#fff", "#d9d9d9", "none"}


def test_a_reading_stands_where_its_value_lies_between_the_limits() -> None:
    svg = draw("1/4", "7/32")
    left, right = limit_places(svg)
    middle, quarter = (x for x, _ in dots(svg))
    assert middle == pytest.approx((left + right) / 2, abs=0.11)
    assert quarter == pytest.approx(left + (right - left) / 4, abs=0.11)


def test_equal_readings_are_stacked() -> None:
    (x1, y1), (x2, y2) = dots(draw("1/4", "1/4"))
    assert x1 == x2
    assert y1 - y2 > 10


@pytest.mark.parametrize(("reading", "side"), [("1/8", "left"), ("1/2", "right"), ("40", "right")])
def test_a_reading_outside_stands_outside_and_within_the_drawing(reading: str, side: str) -> None:
    svg = draw(reading, result="not_met")
    left, right = limit_places(svg)
    [(x, _)] = dots(svg)
    assert 0 < x < 480
    assert x < left if side == "left" else x > right
    assert any(each.endswith("not met") for each in texts(svg))


@pytest.mark.parametrize(
    ("r", "hatched"), [(None, 0), ("1", 3), ("9", 2)], ids=["none", "both ends", "all"]
)
def test_hatches_the_guard_band(r: str | None, hatched: int) -> None:
    """Both ends and the legend; the whole width and the legend where nothing is left to meet."""
    rule = {"kind": "guard_band", "r": r} if r else SIMPLE
    svg = draw("1/4", decision_rule=rule)
    assert hatchings(svg) == hatched
    assert ("met" in texts(svg)) == (r != "9")


@pytest.mark.parametrize(
    ("lower", "upper", "words"),
    [
        ("3/16", None, ["min 3/16 in"]),
        (None, "5/16", ["max 5/16 in"]),
        ("1/4", "1/4", ["exactly 1/4 in"]),
        ("3/16", "5/16", ["min 3/16 in", "max 5/16 in"]),
    ],
)
def test_names_each_limit(lower: str | None, upper: str | None, words: list[str]) -> None:
    svg = draw("1/4", limits={"lower": lower, "upper": upper}, decision_rule=SIMPLE)
    limits = [each for each in texts(svg) if each.startswith(("min", "max", "exactly"))]
    assert limits == words
    assert limit_places(svg)


def test_a_spread_has_no_reading_on_its_scale() -> None:
    svg = draw(
        "150", "152", unit="mm", statistic="spread", limits={"lower": None, "upper": "3"},
        result="met", decision_rule=SIMPLE,
    )  # fmt: skip
    assert not list(svg.iter(f"{SVG}circle"))
    assert "Spread 2 mm: met" in texts(svg)


def test_draws_the_limits_before_any_reading() -> None:
    svg = draw()
    assert len(limit_places(svg)) == 2
    assert "No readings yet." in (svg.findtext(f"{SVG}desc") or "")


@pytest.mark.parametrize("result", sorted(WORDS))
@pytest.mark.parametrize("width", [250, 340, 480])
@pytest.mark.parametrize("readings", [("33/4",), ("33/4", "40", "131/16")])
def test_no_text_leaves_the_drawing_or_meets_another(
    readings: tuple[str, ...], width: int, result: str
) -> None:
    svg = draw(*readings, width=width, result=result, limits={"lower": "131/16", "upper": "133/16"})
    spans: dict[str, list[tuple[float, float]]] = {}
    for each in svg.iter(f"{SVG}text"):
        x, half = float(each.get("x", "")), CHARACTER * len(each.text or "") / 2
        start = x if each.get("text-anchor") == "start" else x - half
        spans.setdefault(each.get("y", ""), []).append((start, start + 2 * half))
    assert len(spans) >= 3
    for row in spans.values():
        row.sort()
        assert row[0][0] >= 0
        assert row[-1][1] <= width
        assert all(left[1] <= right[0] for left, right in pairwise(row))


def test_escapes_what_people_wrote() -> None:
    written = number_line_svg(drawn(*READINGS), title='Joint <b>"2"</b> & more')
    assert ET.fromstring(written).findtext(f"{SVG}title") == 'Joint <b>"2"</b> & more'
