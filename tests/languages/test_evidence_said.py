"""The English sentences of evidence are known where they are shown, and said in Spanish.

The sections come from the analyses themselves, with the cohorts and panels of their own tests.
The Spanish was written by hand for this program.
"""

import re
from collections.abc import Iterator
from math import nan

import pytest
from babel.numbers import get_decimal_symbol
from django.utils import translation

from assessments.evidence.agreement import CalibrationRow, agreement_section, calibration
from assessments.evidence.dependability import dependability_section
from assessments.evidence.judging import (
    borderline_regression,
    contrasting_groups,
    ebel,
    hofstee,
    spread,
    when_to_use,
)
from assessments.evidence.results import NotComputed, Section
from assessments.evidence.review import review_section
from assessments.evidence.scores import Scores
from assessments.templatetags.evidence import figure_words, laid_out, shown
from assessments.wording.evidence import FORMS, SAID, VALUES
from assessments.wording.evidence.cells import said_of_section
from assessments.wording.evidence.values import apart_again, judges_again, series_again
from tests.evidence.agreement import cohorts as agreeing
from tests.evidence.judging.builders import ITEMS, JUDGES, panel
from tests.evidence.review import builders as reviewing
from training.said import register_said, said, unknown

# Titles and names of the cohorts, methods with their level, signs: the same in every language.
OWN = re.compile(
    r"Rated \d|Squeeze-out.*|Bed joint full|Face flush|Joint even|Sill A|Ana|Ben|Cy|\d+ Mar"
    r"|Criterion C?\d+|[CTtAa]\d+|[A-Za-z][\w-]*, \d+%|p?i?r?(,e)?|AC1|Φ\(λ\)|[\d.%]+"
    r"|[a-z]+ \d+(, [a-z]+ \d+)*|Change"
)


def _texts(section: Section) -> Iterator[str]:
    """Every text of a section that is shown; sources are cited as they are."""
    yield from (section.title, section.summary, *section.notes)
    for each in section.figures:
        yield each.title
        yield from (each.reason,) if isinstance(each, NotComputed) else (each.interval, *each.notes)
    for table in section.tables:
        yield from (table.title, *table.columns)
        yield from (cell for row in table.rows for cell in row if isinstance(cell, str))
    for drawing in section.drawings:
        yield from (drawing.title, drawing.alternative)


def _unknown(*sections: Section) -> list[str]:
    texts = {text for section in sections for text in _texts(section) if text}
    assert len(texts) > 3
    return sorted(text for text in texts if unknown(text) and not OWN.fullmatch(text))


def _row(agreed: float, given: float, sitting: str = "s1") -> CalibrationRow:
    steps = (0.0, 0.5, 1.0)
    return CalibrationRow(sitting, "3 Mar", "Sill A", "C1", "Joint even", agreed, given, steps)


@pytest.mark.parametrize(
    "scores",
    [
        agreeing.drawn(1, people=8),
        agreeing.drawn(2, people=6, assessors=3, unlike=0.0),
        agreeing.drawn(3, people=4, assessors=1),
        agreeing.cohort((agreeing.checked(),), [[[1.0, nan]], [[nan, 1.0]]], cut=None),
        reviewing.cohort(people=12, criteria=5),
        reviewing.scores([[1.0, 0.0], [1.0, 1.0]], results=("met", "not_yet_met")),
    ],
    ids=["apart", "alike", "single", "gaps", "cohort", "two"],
)
def test_every_text_of_a_report_is_known(scores: Scores) -> None:
    found = (
        agreement_section(scores, samples=100, seed=1),
        dependability_section(scores, samples=100, seed=1),
        review_section(scores),
    )
    assert _unknown(*found) == []


def test_every_text_of_a_calibration_is_known() -> None:
    rows = [_row(0.5, 1.0), _row(0.5, 0.5), _row(1.0, 1.0, "s2")]
    for given in ([], rows, [_row(1.0, 0.0)], [_row(1.0, 1.0)]):
        assert _unknown(calibration(given).section) == []


def test_every_text_of_a_panel_is_known() -> None:
    place = ("essential", "easy")
    found = [
        panel().section,
        panel(statistic="median", weights=(1, 2)).section,
        panel(statistic="trimmed", trim=0.34, previous=[[0.5, 0.5]] * 3).section,
        panel([[0.6, 0.8], [0.7, nan], [nan, 0.7]]).section,
        panel([[0.2, 0.8], [0.9, 0.1], [0.5, 0.5]]).section,
        panel([[0.6, 0.8]] * 3).section,
        ebel(
            [[place, None], [place, place], [place, ("important", "hard")]],
            [{place: 0.9, ("important", "hard"): 0.5}] * 3,
            (1, 1),
            judges=JUDGES,
            items=ITEMS,
        ).section,
        borderline_regression([2, 3, 4, 5, 3, 2], [0.5, 0.7, 0.8, 0.9, 0.6, 0.55]).section,
        borderline_regression([1, 2, 3, 4], [0.3, 0.4, 0.5, 0.6]).section,
        borderline_regression([4, 5, 4], [0.3, 0.4, 0.5]).section,
        contrasting_groups(
            [False, False, False, True, True, True], [0.4, 0.5, 0.7, 0.6, 0.8, 0.9]
        ).section,
        contrasting_groups([False, False, True, True], [0.5, 0.6, 0.7, 0.8]).section,
        contrasting_groups([True, True], [0.5, 0.6]).section,
        hofstee([0.5, 0.6, 0.7, 0.8, 0.9], 0.5, 0.8, 0.1, 0.5, samples=100).section,
        hofstee([0.1, 0.1], 0.5, 0.8, 0.1, 0.5, samples=100).section,
    ]
    assert _unknown(*found) == []
    methods = ("angoff", "ebel", "borderline", "contrasting", "hofstee")
    assert not any(unknown(when_to_use(method)) for method in methods)


def test_every_text_between_rounds_is_known() -> None:
    given = [[0.6, 0.8], [0.7, nan], [0.8, 0.7]]
    found = (
        spread(given, items=ITEMS),
        spread([[0.2, 0.8], [0.9, 0.1]], items=ITEMS, previous=[[0.5, 0.8], [0.5, 0.4]]),
        spread([[nan, nan]], items=ITEMS),
    )
    assert _unknown(*found) == []


def test_no_title_is_taken_for_a_sentence() -> None:
    titles = ("Judge the line of the joint", "Round arris", "Level bed", "Joint full and even")
    assert all(map(unknown, titles))


def test_every_pattern_finds_its_own_values() -> None:
    register_said(SAID, VALUES, FORMS)  # a value named twice or a pattern without words raises
    assert judges_again("Judge A, Judge B and 2 more") == "Judge A, Judge B and 2 more"
    assert not any(unknown(each) for each in SAID if "{" not in each)


SPANISH = {
    "Judge A": "Juez A",
    "Three judges estimated.": "Tres jueces estimaron.",
    "The cut went up by 1.25 percentage points from the first round to the last.": (
        "El punto de corte subió 1,25 puntos porcentuales de la primera a la última ronda."
    ),
    "Agreement is low on: Joint even; Arris.": "La concordancia es baja en: Joint even; Arris.",
    "Everyone met it (12 of 12): it tells nothing about who can do the work. "
    "Keep it: it is critical.": (
        "Todos lo cumplieron (12 de 12): no dice nada sobre quién puede hacer el trabajo. "
        "Consérvelo: es crítico."
    ),
    "Trainee: Joint (not scored), Arris (does not apply).": (
        "Participante: Joint (sin calificar), Arris (no corresponde)."
    ),
    "Assessors tell level 1 from 2 and 0 from 1 differently (3 of 7 differences each): look at "
    "the descriptions of these levels together.": (
        "Los evaluadores distinguen de otra manera el nivel 1 del 2 y 0 del 1 (3 de 7 diferencias "
        "cada uno): revisen juntos las descripciones de estos niveles."
    ),
    "Dependability of scores (Φ), one assessor": (
        "Confiabilidad de los puntajes (Φ), un evaluador"
    ),
    "3 of 5 criteria ask for a look: Joint; Arris; Face.": (
        "3 de 5 criterios piden una revisión: Joint; Arris; Face."
    ),
    "essential 2, important 1": "esencial 2, importante 1",
    "2 runs; 7 trainees, of whom 1 withdrew. 3 of 5 assessed met the passing standard.": (
        "2 cursos; 7 participantes; abandonos: 1. 3 de 5 evaluados cumplieron la norma de "
        "aprobación."
    ),
}


@pytest.mark.parametrize("english", SPANISH)
def test_whole_sentences_are_said_in_spanish(english: str) -> None:
    assert said_of_section(english) == english
    with translation.override("es"):
        assert said_of_section(english) == SPANISH[english]


def test_values_inside_a_sentence_are_said_as_well() -> None:
    with translation.override("es"):
        assert judges_again("Judge A, Judge B and 2 more") == "Juez A, Juez B y 2 más"
        assert apart_again("Arris and face (40 % to 70 %) and Joint (20 % to 50 %)") == (
            "Arris and face (40 % a 70 %) y Joint (20 % a 50 %)"
        )
        assert series_again("run 1: 0.50; run 2: 0.75") == "curso 1: 0.50; curso 2: 0.75"
        assert said_of_section("Sill yard, 3 Aug 2026") == "Sill yard, 3 Ago 2026"
        assert said("Nothing that a pattern knows") == "Nothing that a pattern knows"


@pytest.mark.parametrize(
    ("language", "whole"),
    [
        ("en", "0.74 (95 %: 0.61 to 0.85)"),
        ("es", "0,74 (95 %: 0,61 a 0,85)"),
        ("es-mx", "0.74 (95 %: 0.61 a 0.85)"),
    ],
)
def test_decimals_follow_the_reader(language: str, whole: str) -> None:
    # The sign is Babel's for the locale (CLDR): a comma in Spain, a point in Mexico.
    figure = {"value": "0.7432", "low": "0.61", "high": "0.85", "level": "0.95"}
    table = {"key": "k", "title": "T", "columns": ["Run", "Share"], "rows": [["Sill", "0.5"]]}
    with translation.override(language):
        sign = get_decimal_symbol(language.replace("-mx", "_MX"))
        assert figure_words(figure) == whole
        assert shown("0.743218") == f"0{sign}74"
        assert laid_out(table).rows[0][1].text == f"0{sign}50"
        assert said_of_section("The share is 0.5 in 1.2.3.").endswith(f"0{sign}5 in 1.2.3.")
