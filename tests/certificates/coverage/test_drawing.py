"""The drawing shows what the coverage says, by shape and word, and fits pages, telephones, PDFs."""

from __future__ import annotations

import re
from datetime import date

import pytest
from lxml import etree
from weasyprint import HTML

from assessments.evidence.results import Drawing
from certificates.coverage import Able, Coverage, Post, Timeline, coverage, timeline
from certificates.coverage.axis import ticks
from certificates.coverage.drawing import CHARACTER, NARROW, ROOM, TEXT, WIDE, timeline_drawings
from tests.certificates.coverage.builders import LAST, START, able, on, post
from tests.certificates.pdf.tools import text_of

SVG = "{http://www.w3.org/2000/svg}"


def short_crew() -> Coverage:
    """A is short from the sixth day on, and on the last together with B, which is filled before."""
    crew = [*able("A", "ana", last=4), *able("B", "tom", last=8)]
    return coverage([post("A"), post("B"), post("C", 1, 3, 3)], crew, first=START, last=LAST)


def drawn(found: Timeline, width: int = WIDE) -> list[etree._Element]:
    drawings = timeline_drawings(found, key="posts", title="Posts", width=width)
    return [etree.fromstring(one.svg) for one in drawings]


def test_rows_and_bars_are_those_of_the_spans() -> None:
    found = timeline(short_crew())
    bars = {row.key: [(b.first, b.last, b.state) for b in row.bars] for row in found.rows}
    assert bars == {
        "A": [(START, on(4), "filled"), (on(5), LAST, "short")],
        "B": [(START, on(8), "filled"), (on(9), LAST, "short")],
        "C": [(on(3), on(3), "short")],
    }
    assert found.breaks == on(3)
    assert [row.key for row in found.rows] == ["A", "B", "C"]
    assert [row.words for row in found.rows] == [
        "short from 6 March 2027 to 10 March 2027",
        "short on 10 March 2027",
        "short on 4 March 2027",
    ]


def test_all_posts_of_a_gap_are_short_whoever_is_placed() -> None:
    found = coverage([post("A"), post("B")], able("AB", "ana"), first=START, last=LAST)
    assert [row.words for row in timeline(found).rows] == [
        "short from 1 March 2027 to 10 March 2027"
    ] * 2


def test_only_the_short_ones_on_request() -> None:
    found = coverage([post("A"), post("B")], able("A", "ana"), first=START, last=LAST)
    assert [row.key for row in timeline(found, short_only=True).rows] == ["B"]
    assert "Filled on all their days: A." in timeline(found).words


@pytest.mark.parametrize("width", [WIDE, NARROW])
def test_bars_stand_where_their_days_are(width: int) -> None:
    (root,) = drawn(timeline(short_crew()), width)
    day = (width - 4) / 10
    places = {
        (kind, round((float(r.get("x", "")) - 2) / day), round(float(r.get("width", "")) / day))
        for kind in ("filled", "short")
        for r in root.iter(f"{SVG}rect")
        # The legend has one of each, which is no number of days wide.
        if r.get("class") == kind and float(r.get("y", "")) > 20
    }
    assert places == {
        ("filled", 0, 5),
        ("short", 5, 5),
        ("filled", 0, 9),
        ("short", 9, 1),
        ("short", 3, 1),
    }
    breaks = [p.get("d", "") for p in root.iter(f"{SVG}path") if p.get("class") == "break"]
    assert {round((float(d[1:].split()[0]) - 2) / day, 1) for d in breaks} == {3.0}


def test_state_and_break_are_said_in_words() -> None:
    (root,) = drawn(timeline(short_crew()))
    words = [str(text.text) for text in root.iter(f"{SVG}text")]
    for said in ("filled", "short", "short of masons", "First day not covered: 4 March 2027"):
        assert said in words
    assert root.get("role") == "img"
    assert str(root.findtext(f"{SVG}title")) == "Posts"
    described = str(root.findtext(f"{SVG}desc"))
    assert "First day not covered: 4 March 2027." in described
    assert "A: short from 6 March 2027 to 10 March 2027." in described


def many(number: int) -> list[Drawing]:
    title = "Setting of the <replaced> string course & parapet, bay"
    posts = [Post(f"{n:02}", f"{title} {n} \x00\ud800", 1, on(n % 9), LAST) for n in range(number)]
    crew = [Able(one.key, f"p{one.key}", START, on(7)) for one in posts]
    found = timeline(coverage(posts, crew, first=START, last=LAST))
    return [
        *timeline_drawings(found, key="wide", title="Posts"),
        *timeline_drawings(found, key="narrow", title="Posts", width=NARROW),
    ]


def test_nothing_in_it_that_the_policy_of_the_pages_forbids() -> None:
    for one in many(14):
        root = etree.fromstring(one.svg)
        names = {str(element.tag).removeprefix(SVG) for element in root.iter()}
        assert names <= {"svg", "title", "desc", "rect", "path", "text"}
        attributes = {str(name) for element in root.iter() for name in element.attrib}
        assert not {n for n in attributes if n in ("style", "id", "href") or n.startswith("on")}
        assert "url(" not in one.svg


def test_letters_are_large_enough_and_lines_stay_inside() -> None:
    # A page gives a drawing at least 28rem (448 px) and scrolls it; a telephone has 328 px.
    assert 448 / WIDE * TEXT >= 11
    assert 328 / NARROW * TEXT >= 11
    for one in many(14):
        root = etree.fromstring(one.svg)
        width = float(root.get("viewBox", "").split()[2])
        for text in root.iter(f"{SVG}text"):
            left = float(text.get("x", ""))
            length = CHARACTER * len(str(text.text))
            if text.get("text-anchor") == "middle":
                left -= length / 2
            assert left >= 0
            assert left + length <= width + 1


def test_many_posts_go_on_several_drawings_that_fit_on_a_page() -> None:
    wide = [one for one in many(30) if one.key.startswith("wide")]
    assert [one.key for one in wide] == ["wide", *(f"wide-{n}" for n in range(2, len(wide) + 1))]
    assert wide[0].title == f"Posts (1 of {len(wide)})"
    assert sum(len(re.findall("bay", one.alternative)) for one in wide) == 30
    for one in wide:
        width, height = (
            float(part) for part in re.findall(r'viewBox="0 0 (\d+) (\d+)"', one.svg)[0]
        )
        # The rows, and the legend, the axis and the mark above them.
        assert height / width <= ROOM + 0.2 <= 1.35


def test_a_pdf_takes_it_whole(caplog: pytest.LogCaptureFixture) -> None:
    # Judge: Poppler's pdftotext. WeasyPrint says in its log what it cannot draw.
    shown = timeline_drawings(timeline(short_crew()), key="posts", title="Posts")
    text = text_of(HTML(string=shown[0].svg).write_pdf())
    for said in ("First day not covered: 4 March 2027", "short on 10 March 2027", "8 Mar 2027"):
        assert said in text
    assert not caplog.records


def test_no_posts_no_drawing() -> None:
    found = timeline(coverage([], [], first=START, last=LAST))
    assert timeline_drawings(found, key="posts", title="Posts") == ()


@pytest.mark.parametrize(
    ("last", "expected"),
    [
        (date(2027, 3, 1), ["1 Mar 2027"]),
        (
            date(2027, 3, 31),
            ["1 Mar 2027", "8 Mar 2027", "15 Mar 2027", "22 Mar 2027", "29 Mar 2027"],
        ),
        (
            date(2028, 2, 29),
            ["Mar 2027", "May 2027", "Jul 2027", "Sep 2027", "Nov 2027", "Jan 2028"],
        ),
        (date(2036, 12, 31), ["Jan 2028", "Jan 2030", "Jan 2032", "Jan 2034", "Jan 2036"]),
    ],
)
def test_ticks_have_room_for_their_labels(last: date, expected: list[str]) -> None:
    assert [words for _, words in ticks(START, last, 70)] == expected


@pytest.mark.parametrize("days", range(1, 8000, 97))
def test_there_is_always_a_tick_and_never_too_many(days: int) -> None:
    found = ticks(START, on(days - 1), 70)
    assert 1 <= len(found) <= 9
    assert all(START <= tick <= on(days - 1) for tick, _ in found)
