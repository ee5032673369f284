"""Lengths read in the other unit, exactly; numbers in the manner of a language.

The inch is 25.4 mm exactly (international yard and pound, 1959; NIST SP 811, appendix B): from
memory. Each value below was worked out by hand from it.
"""

from collections.abc import Iterator
from contextlib import contextmanager
from fractions import Fraction
from xml.etree import ElementTree as ET

import pytest
from django.utils import translation
from hypothesis import given, settings
from hypothesis import strategies as st

from assessments.engine.numberline import figures
from assessments.lengths import in_other_unit, lengths_in, numbers, percent, shown, told
from assessments.numberline import number_line_svg
from assessments.templatetags.bankermark import limits, number_line, quantity, result_word
from training.models import Person
from training.reader import lengths_of


@contextmanager
def reading(lengths: str = "", language: str = "en") -> Iterator[None]:
    """Read as somebody who chose these."""
    with lengths_of(Person(lengths=lengths)), translation.override(language):
        yield


@pytest.mark.parametrize(
    ("value", "unit", "wanted", "text"),
    [
        ("3/16", "in", "mm", "≈ 4.8 mm"),  # 3 × 25.4 / 16 = 4.7625
        ("1/16", "in", "mm", "≈ 1.6 mm"),  # 1.5875
        ("4", "in", "mm", "101.6 mm"),
        ("1/2", "in", "mm", "12.7 mm"),
        ("2", "ft", "mm", "609.6 mm"),  # 24 × 25.4
        ("0", "in", "mm", "0 mm"),
        ("5", "in", "mm", "127 mm"),
        ("1/512", "in", "mm", "< 0.1 mm"),  # 0.0496
        ("12", "mm", "in", "≈ 15/32 in"),  # 12 × 64 / 25.4 = 30.24 sixty-fourths
        ("38.1", "mm", "in", "1 1/2 in"),
        ("30", "cm", "in", "≈ 11 13/16 in"),  # 300 × 64 / 25.4 = 755.9, so 756
        ("0.1", "mm", "in", "< 1/64 in"),  # 0.25 of a sixty-fourth
        ("1.5875", "mm", "in", "1/16 in"),
        ("25.4", "mm", "in", "1 in"),
    ],
)
def test_a_length_in_the_other_unit(value: str, unit: str, wanted: str, text: str) -> None:
    assert in_other_unit(Fraction(value), unit, wanted) == text


@pytest.mark.parametrize(
    ("unit", "wanted"),
    [
        ("in", "in"),
        ("ft", "in"),
        ("mm", "mm"),
        ("cm", "mm"),
        ("in", ""),
        ("min", "mm"),
        ("kg", "in"),
    ],
)
def test_what_is_read_as_it_is(unit: str, wanted: str) -> None:
    assert in_other_unit(Fraction(3, 2), unit, wanted) == ""


@settings(max_examples=30, deadline=None)
@given(st.fractions(min_value=0, max_value=500, max_denominator=640))
def test_millimeters_are_never_off_by_more_than_half_a_step(value: Fraction) -> None:
    said = in_other_unit(value, "in", "mm")
    there = value * 254 / 10
    number = Fraction(said.removeprefix("≈ ").removeprefix("< ").removesuffix(" mm"))
    if said.startswith("<"):
        assert 0 < there < number
    else:
        assert abs(number - there) <= Fraction(1, 20)
        assert (number == there) is not said.startswith("≈")


def test_what_was_taken_stands_beside() -> None:
    with reading("mm"):
        assert shown(Fraction(3, 16), "in") == "≈ 4.8 mm (3/16 in)"
        assert quantity("38.1", "mm") == "38.1 mm"
        assert limits({"limits": {"lower": "1/16", "upper": "1/2"}, "unit": "in"}) == (
            "≈ 1.6 mm (1/16 in) to 12.7 mm (1/2 in)"
        )
        assert limits({"limits": {"lower": None, "upper": "90"}, "unit": "min"}) == (
            "1 h 30 min or less"
        )
    with reading(""):
        assert shown(Fraction(3, 16), "in") == "3/16 in"


@pytest.mark.parametrize(
    ("wanted", "sentence", "read"),
    [
        (
            "mm",
            "Each of 2 readings: 1/16 in to 1/2 in; allowed: 1/16 in to 3/16 in.",
            "Each of 2 readings: ≈ 1.6 mm (1/16 in) to 12.7 mm (1/2 in); allowed: "
            "≈ 1.6 mm (1/16 in) to ≈ 4.8 mm (3/16 in).",
        ),
        ("mm", "That is 1 1/2 in too much.", "That is 38.1 mm (1 1/2 in) too much."),
        ("mm", "The mean: about 0.3333 in.", "The mean: ≈ 8.5 mm (about 0.3333 in)."),
        ("in", "The reading: 38.1 mm; allowed: 40 mm or less.",
         "The reading: 1 1/2 in (38.1 mm); allowed: ≈ 1 37/64 in (40 mm) or less."),
        ("mm", "Seen twice, 2 in a row, and 3 in every ten.", None),
        ("mm", "Took 30 min; allowed: 1 h.", None),
        ("in", "A face of 20 mm2 and 5 min.", None),
        ("mm", "Level 2: Joint full.", None),
        ("", "The reading: 1/2 in.", None),
    ],
)  # fmt: skip
def test_lengths_in_a_sentence(wanted: str, sentence: str, read: str | None) -> None:
    with reading(wanted):
        assert lengths_in(sentence) == (read or sentence)


@pytest.mark.parametrize(
    ("language", "text"), [("es", "2,5 mm"), ("es-mx", "2.5 mm"), ("en", "2.5 mm")]
)
def test_the_decimal_sign_is_that_of_the_language(language: str, text: str) -> None:
    with reading(language=language):
        assert quantity("2.5", "mm") == text
        assert numbers("2.5 mm") == text


def test_versions_and_names_keep_their_points() -> None:
    with reading(language="es"):
        assert numbers("1.2.3 C1.2 v2.5 a 12.5 %") == "1.2.3 C1.2 v2.5 a 12,5 %"
        assert percent(Fraction(1, 8)) == "12,5 %"
        assert "66,66 %" in percent(Fraction(2, 3))


def test_without_a_choice_an_english_sentence_stays_as_it_was() -> None:
    sentence = "Outcome O1: about 66.66 %; needed is 70 %."
    with reading():
        assert told(sentence) == sentence
        assert result_word("not_yet_met") == "Not yet met"


CRITERION = {
    "key": "C", "title": "Joint", "stage": "set", "kind": "measured", "critical": False,
    "not_applicable": False, "weight": "1", "outcomes": {"O1": "1"}, "guidance": "",
    "quantity": "length", "unit": "in", "readings": 2, "statistic": "each",
    "limits": {"lower": "1/16", "upper": "3/16"}, "limits_source": "invented",
    "instrument": None, "decision_rule": {"kind": "simple"}, "coverage_factor": None,
    "minimum_ratio": None,
}  # fmt: skip
TAKEN = {"readings": [{"typed": text, "value": text, "unit": "in"} for text in ("1/8", "1/4")]}


def drawn(language: str, lengths: str) -> ET.Element:
    with reading(lengths, language):
        return ET.fromstring(number_line(figures(CRITERION, TAKEN), "Joint"))


def test_a_drawing_speaks_the_readers_lengths_at_the_same_places() -> None:
    taken, read = drawn("en", ""), drawn("es", "mm")
    says = " ".join(read.itertext())
    assert "≈ 4,8 mm" in says
    assert "3/16" not in says
    assert "3/16 in" in " ".join(taken.itertext())
    for name in ("d", "cx", "cy", "viewBox"):
        places = [each.get(name) for each in read.iter() if each.get(name)]
        assert not any("," in place for place in places if place)
    limits_at = [
        [each.get("d", "").split()[0] for each in svg.iter() if each.get("stroke-width") == "3"]
        for svg in (taken, read)
    ]
    assert limits_at[0] == limits_at[1]


def test_a_records_drawing_never_depends_on_who_is_active() -> None:
    marks = figures(CRITERION, TAKEN)
    plain = number_line_svg(marks, title="Joint")
    with reading("mm", "es"):
        assert number_line_svg(marks, title="Joint") == plain
