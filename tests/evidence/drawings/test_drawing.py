"""Drawings are safe inside a page, the same every time, and cut nothing off."""

from __future__ import annotations

import re
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Any

import matplotlib as mpl
import pytest
from fontTools.ttLib import TTFont
from lxml import etree

from assessments.evidence import drawings
from assessments.evidence.drawings import style
from assessments.evidence.errors import EvidenceError

SVG = "{http://www.w3.org/2000/svg}"
FACE = TTFont("static/fonts/commissioner/commissioner-latin-flar-normal.woff2")
HOSTILE = '</text><script>alert("1")</script>\x00\x1b & $\\frac{ "x" \ud83d 石 <!-- ]]>'


def rich(axes: Any) -> None:
    """Everything that matplotlib writes in its own manner: hatches, markers, clips, legends."""
    axes.bar([1, 2], [3, 4], hatch="///", facecolor="none", label="a bar")
    axes.plot([1, 2], [1, 2], "o--", color=drawings.ACCENT, alpha=0.5, label="a line")
    axes.errorbar([1, 2], [1, 2], yerr=0.5, fmt="s", color=drawings.INK)
    axes.set_ylabel("Minutes")
    axes.set_title("Heading", style="italic", weight="bold")
    axes.legend()


def shown(key: str = "rich", draw: Any = rich, alternative: str = "Words.") -> str:
    return drawings.drawing(key, "Title", alternative, draw).svg


def test_nothing_in_it_is_barred_by_a_strict_policy() -> None:
    svg = shown()
    assert svg.startswith("<svg ")
    assert "xlink" not in svg
    assert "<!" not in svg
    names, references, ids = set(), set(), []
    for element in etree.fromstring(svg).iter():
        names.add(str(element.tag).removeprefix(SVG))
        ids += [str(element.get("id"))] * ("id" in element.attrib)
        for name, value in [(str(name), str(value)) for name, value in element.attrib.items()]:
            assert name != "style"
            assert not name.startswith("on")
            references.update(re.findall(r"url\(#([^)]+)\)", value))
            if name == "href":
                assert value.startswith("#")
                references.add(value[1:])
    assert names <= {"svg", "g", "defs", "path", "use", "text", "clipPath", "rect", "pattern"}
    assert {"text", "use", "clipPath", "pattern"} <= names
    assert sorted(ids) == sorted(references)
    assert all(name.startswith("rich-") for name in references)


def test_the_styles_are_kept_as_attributes() -> None:
    root = etree.fromstring(shown())
    assert root.get("stroke-linejoin") == "round"
    texts = {element.text: element for element in root.iter(f"{SVG}text")}
    assert texts["Heading"].get("font-weight") == "700"
    assert texts["Heading"].get("font-style") == "italic"
    assert texts["a line"].get("font-size") == "13px"
    assert {element.get("stroke-dasharray") for element in root.iter(f"{SVG}path")} - {None}
    assert root.get("font-family", "").startswith("Commissioner,'Source Sans 3',")
    assert "DejaVu" not in shown()


def test_it_scales_with_its_column_and_has_words() -> None:
    root = etree.fromstring(shown(alternative='Two bars & "a line".'))
    assert root.get("viewBox") == "0 0 425.19685 226.771654"
    assert (root.get("width"), root.get("height")) == ("150mm", None)
    assert (root.get("role"), root.get("aria-label")) == ("img", 'Two bars & "a line".')


def test_the_same_input_gives_the_same_bytes_in_every_thread() -> None:
    before = dict(mpl.rcParams)
    keys = ["a", "b", "a", "b", "a", "b"]
    with ThreadPoolExecutor(3) as pool:
        found = list(pool.map(shown, keys))
    assert len(set(found)) == 2
    assert found[0] == found[2] == found[4] == shown("a")
    assert dict(mpl.rcParams) == before


def test_settings_of_the_machine_change_nothing() -> None:
    plain = shown()
    with mpl.rc_context({"font.size": 40, "lines.linewidth": 9, "axes.grid": True}):
        assert shown() == plain


def test_hostile_text_stays_text() -> None:
    def draw(axes: Any) -> None:
        axes.set_title(drawings.label(HOSTILE, 200))
        axes.set_xlabel(HOSTILE)
        axes.set_yticks([0.5], [HOSTILE])

    svg = shown("hostile", draw, HOSTILE)
    texts = [str(element.text) for element in etree.fromstring(svg).iter(f"{SVG}text")]
    plain = '</text><script>alert("1")</script> & $\\frac{ "x"  石 <!-- ]]>'
    assert "".join("".join(texts).split()).count("".join(plain.split())) == 3
    assert etree.fromstring(svg).get("aria-label") == plain
    assert "<script" not in svg


def measured(text: str) -> float:
    """The width of Latin text in the face of the pages, in ems."""
    metrics, names = FACE["hmtx"].metrics, FACE.getBestCmap()
    return float(sum(metrics[names[ord(letter)]][0] for letter in text) / FACE["head"].unitsPerEm)


def test_long_labels_are_wrapped_and_stay_inside() -> None:
    title = "Joint between the dutchman and the stone filled to its full depth without voids, " * 3

    def draw(axes: Any) -> None:
        axes.set_yticks([0, 1], [drawings.label(title), "Short"])
        axes.set_xticks([0, 100], ["0", "the very end of the axis"])

    svg = drawings.drawing("long", "Title", "Words.", draw, height_mm=120).svg
    root = etree.fromstring(svg)
    width, height = (float(part) for part in root.get("viewBox", "").split()[2:])
    words = []
    for element in root.iter(f"{SVG}text"):
        text = element.text or ""
        place = re.match(r"translate\(([\d.]+) ([\d.]+)\)", element.get("transform", ""))
        found = place.groups() if place else (element.get("x", "nan"), element.get("y", "nan"))
        x, y = (float(number) for number in found)
        wide = 13 * measured(text)
        left = x - {"end": wide, "middle": wide / 2}.get(element.get("text-anchor", ""), 0)
        assert left >= 0, text
        assert left + wide <= width, text
        assert 0 < y <= height, text
        words += text.split()
    assert set(title.split()) <= set(words)


def test_a_label_is_never_empty_and_breaks_a_long_word() -> None:
    assert drawings.label(" \x00 ") == "-"
    assert drawings.label("x" * 23) == "x" * 22 + "\nx"


def test_the_colours_are_those_of_the_pages() -> None:
    sheet = Path("static/bankermark.css").read_text(encoding="utf-8")
    colours = {"ink": style.INK, "soft": style.SOFT, "line": style.ACCENT, "hair": style.HAIR}
    for name, colour in (colours | {"shade": style.SHADE}).items():
        assert f"--{name}: {colour};" in sheet


@pytest.mark.parametrize("key", ["", "1a", "a b", 'a"', "a)", "é"])
def test_a_key_that_is_no_id_is_refused(key: str) -> None:
    with pytest.raises(EvidenceError, match="key"):
        shown(key)


@pytest.mark.parametrize("size", [0, -1, float("nan")])
def test_a_size_that_is_none_is_refused(size: float) -> None:
    with pytest.raises(EvidenceError, match="width_mm"):
        drawings.drawing("a", "T", "W", rich, height_mm=size)
