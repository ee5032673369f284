"""Coverage's English sentences are known where they are shown, and their values said again.

The names of months in Spanish are those of Django's own catalog.
"""

from datetime import date

import pytest
from django.utils import translation

from certificates.coverage import Able, Post
from certificates.coverage.drawing import timeline_drawings
from certificates.coverage.sweep import coverage
from certificates.coverage.timeline import timeline
from certificates.coverage.wording import WORDS, gap_sentence
from certificates.drawn_words import drawn
from certificates.wording import NUMBERS, SAID, VALUES, day_again, number_again, place_title
from training.said import said, unknown

FIRST, LAST = date(2027, 3, 1), date(2027, 5, 31)
NAMES = {"1": "Ana Ruiz", "2": "Tom Bell"}
MANY = [f"{letter}. Mason" for letter in "ABCDEFGH"]


def _short() -> tuple[Post, ...]:
    return (
        Post("A", "A, Sills and jambs", 1, FIRST, LAST),
        Post("B", "B", 2, date(2027, 3, 15), LAST),
        Post("B/lead", "B, lead", 1, date(2027, 3, 15), LAST),
    )


def _able() -> list[Able]:
    return [
        Able("A", "1", FIRST, date(2027, 4, 30)),
        Able("B", "1", FIRST, date(2027, 4, 30)),
        Able("B", "2", FIRST),
    ]


@pytest.mark.parametrize("posts", [["B"], ["A", "B"], ["A", "Sills and jambs", "C"]])
@pytest.mark.parametrize("people", [[], ["Ana Ruiz"], ["Ana Ruiz", "Tom Bell"], MANY])
@pytest.mark.parametrize("counted", [[], ["Lu Chen"], ["Lu Chen", "Bo Ek"]])
def test_every_sentence_about_a_gap_is_known_and_so_is_each_of_its_clauses(
    posts: list[str], people: list[str], counted: list[str]
) -> None:
    sentence = gap_sentence(posts, len(people) + 1, people, counted)
    assert not unknown(sentence)
    clause = sentence.split("; ", 1)[1].removesuffix(".")
    assert not unknown(clause)
    assert said(sentence) == sentence


def test_a_coverage_that_breaks_says_nothing_that_is_not_known() -> None:
    found = coverage(_short(), _able(), first=FIRST, last=LAST, names=NAMES)
    assert found.breaks is not None
    assert not unknown(found.breaks.sentence)
    gaps = {gap.sentence for span in found.spans for gap in span.gaps}
    assert gaps
    assert not any(map(unknown, gaps))
    assert unknown("Post A waits for a mason.")


def test_days_and_numbers_are_said_again_in_the_readers_language() -> None:
    assert NUMBERS == WORDS
    assert number_again("two") == "two"
    assert number_again("5,000") == "5,000"
    assert place_title("N-1, lead") == "N-1, lead"
    assert set(VALUES) >= {"day", "people", "posts", "masons", "number"}
    assert len(set(SAID)) == len(SAID)
    with translation.override("es"):
        assert day_again("4 May 2026").split() == ["4", "de", "mayo", "de", "2026"]
        assert day_again("no day") == "no day"
        assert "agosto" in said("From 4 August 2026 not every post can be filled.")
        assert "mayo" in drawn("short from 4 May 2026 to 7 May 2026")
        assert drawn("Posts of the tower") == "Posts of the tower"


def test_a_drawing_says_its_texts_as_it_is_asked_to() -> None:
    lines = timeline(coverage(_short(), _able(), first=FIRST, last=LAST, names=NAMES))
    plain = timeline_drawings(lines, key="posts", title="Posts")
    assert plain == timeline_drawings(lines, key="posts", title="Posts", say=drawn)
    heard: list[str] = []

    def say(text: str) -> str:
        heard.append(text)
        return text.upper()

    (shown,) = timeline_drawings(lines, key="posts", title="Posts", say=say)
    assert "SHORT OF MASONS" in shown.svg
    assert "short of masons" not in shown.svg
    assert {"filled", "short", "B, lead"} <= set(heard)
    with translation.override("es"):
        (spanish,) = timeline_drawings(lines, key="posts", title="Posts", say=drawn)
    assert "mayo" in spanish.svg
