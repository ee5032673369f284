"""The engine's English sentences are known where they are shown, and said in Spanish.

The sentences come from the engine itself: its vectors, its cases worked out by hand, its rules of
qualification and the sums of its task sheet. The Spanish was written by hand for this program.
"""

import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from django.utils import translation

from assessments.engine import EngineError, decide
from assessments.engine.formula import parse
from assessments.engine.qualification import (
    Continuity,
    Renewal,
    continuity_brief,
    continuity_sentence,
    covers,
    load_need,
    range_of,
    renewal_sentence,
)
from assessments.engine.risk.on_limit import on_limit_sentence
from assessments.engine.standard import load_standard, sealing_faults
from assessments.engine.tasksheet import task_sheet
from assessments.lengths import told
from assessments.wording.engine import FORMS, SAID, VALUES, amount_again, extent_again
from tests.engine import builders, test_cases
from tests.engine.qualification import make_rules
from training.said import said, unknown

VECTORS = Path(__file__).parents[1] / "vectors"


def _vectors(name: str) -> dict[str, list[list[Any]]]:
    found: dict[str, list[list[Any]]] = json.loads((VECTORS / name).read_text(encoding="utf-8"))
    return found


def _faults() -> Iterator[str]:
    for name in ("quantities.json", "lengths.json"):
        for row in _vectors(name)["parse"]:
            # A mark that opens a quotation and is typed by chance ends nowhere.
            if len(row) == 3 and " " in row[2] and "“" not in row[0]:
                yield row[2]


def _decision(case: dict[str, Any]) -> Iterator[str]:
    decision = decide(*test_cases.documents(case))
    yield from decision["reasons"]
    yield from (step["sentence"] for step in decision["trace"])
    yield from (each["sentence"] for each in decision["practice"])
    yield from (each["sentence"] for each in decision["criteria"])


def test_every_judgement_and_every_refusal_of_the_vectors_is_known() -> None:
    found = _vectors("judgements.json")
    sentences = {row[3] for row in (*found["judged"], *found["refused"])}
    assert len(sentences) > 100
    assert sorted(filter(unknown, sentences)) == []


def test_every_refusal_of_a_quantity_is_known() -> None:
    refused = set(_faults())
    assert len(refused) > 50
    assert sorted(filter(unknown, refused)) == []


@pytest.mark.parametrize("case", test_cases.CASES[::4], ids=lambda case: str(case["name"]))
def test_every_sentence_of_a_decision_is_known(case: dict[str, Any]) -> None:
    sentences = [each for each in _decision(case) if each]
    assert sentences
    assert [each for each in sentences if unknown(each)] == []


def test_ranges_and_their_rules_are_known() -> None:
    rules = make_rules()
    rows = range_of(rules).rows()
    assert [row["rule"] for row in rows if unknown(row["rule"])] == []
    asked = {
        row.key: row.values[-1] if row.values else {"from": "1", "to": "2000", "unit": "in"}
        for row in rules.variables
    }
    lacking = covers(range_of(rules), load_need(rules, asked))
    assert lacking
    assert [each.sentence for each in lacking if unknown(each.sentence)] == []
    kept = [Continuity(1, 0), Continuity(6, 30), None]
    told_rules = [
        *map(continuity_sentence, kept),
        *map(continuity_brief, kept[:2]),
        renewal_sentence(None),
        renewal_sentence(Renewal(30, 0, ("S1",))),
        renewal_sentence(Renewal(1, 14, ("S1", "S2"))),
    ]
    assert [each for each in told_rules if unknown(each)] == []


SUMS: list[dict[str, Any]] = [
    {"sum": "disc_reach", "unit": "in", "disc": "9/2", "depth": "1"},
    {"sum": "vibration", "tools": [{"tool": "Grinder", "m_s2": "9", "minutes": 300}],
     "source": "The maker's own sheet"},
    {"sum": "silica", "work": [{"work": "Raking out", "ug_m3": "200", "minutes": 200}],
     "source": "Our own readings"},
    {"sum": "mass", "unit": "in", "width": "30", "height": "20", "depth": "10",
     "density": "140", "density_unit": "lb/ft3", "density_source": "The quarry", "guide": "niosh"},
]  # fmt: skip


def test_labels_workings_and_cautions_of_the_task_sheet_are_known() -> None:
    for sheet in task_sheet(SUMS, {}):
        cautions = [text for text, _ in sheet.cautions]
        assert cautions, sheet.sum
        labels = [sheet.title, *(label for label, _ in sheet.results)]
        assert [each for each in (*cautions, sheet.working, *labels) if unknown(each)] == []


@pytest.mark.parametrize(
    "formula", ["2 *", "a + ", "1/0 in", "max", "foo(1)", "§", "1 parsec", "(1", "6 in/1/8 in"]
)
def test_what_is_wrong_with_a_formula_is_known(formula: str) -> None:
    with pytest.raises(EngineError) as caught:
        parse(formula)
    assert not unknown(caught.value.message)


def test_what_keeps_a_standard_from_being_sealed_is_known() -> None:
    coarse = builders.measured("M", "1", "2")
    coarse["instrument"] |= {"resolution": "1", "maximum_permissible_error": "1"}
    coarse["decision_rule"] = {"kind": "guard_band", "r": "1"}
    coarse["minimum_ratio"] = "4"
    document = builders.standard(coarse, cut="0.5")
    faults = [fault.message for fault in sealing_faults(document)]
    assert len(faults) >= 2
    rule = load_standard(document).criteria[0].rule
    risk = on_limit_sentence(rule)  # type: ignore[arg-type]
    assert risk
    assert [each for each in (*faults, risk) if unknown(each)] == []


def test_the_programs_own_words_are_no_sentence_of_the_engine() -> None:
    for own in ("Clean and flush.", "Stone to match", "Joint: as drawn.", "Sills and jambs"):
        assert unknown(own)
        with translation.override("es"):
            assert said(own) == own
    assert set(FORMS) <= set(VALUES) | {"size", "larger"}
    assert len(set(SAID)) == len(SAID)
    assert amount_again("about 2 in³ (about 1 US fl oz)") == "about 2 in³ (about 1 US fl oz)"


SPANISH = {
    "Yes, as needed.": "Sí, como se necesita.",
    "Level 2: Mostly flush. Needed is level 3 or higher.": (
        "Nivel 2: Mostly flush. Se necesita el nivel 3 o uno superior."
    ),
    "The reading: 3/16 in; allowed: 1/8 in or less. That is 1/16 in too much.": (
        "La lectura: 3/16 in; permitido: 1/8 in o menos. Es 1/16 in más de lo permitido."
    ),
    "M1, Bed joint: Each of 3 readings: 9 mm to 12 mm; allowed: 8 mm to 10 mm. "
    "That is 2 mm too much.": (
        "M1, Bed joint: Cada una de 3 lecturas: 9 mm a 12 mm; permitido: 8 mm a 10 mm. "
        "Es 2 mm más de lo permitido."
    ),
    "Hold point S2, Dry fit: accepted; the next stage counts.": (
        "Punto de espera S2, Dry fit: aceptado; la etapa siguiente cuenta."
    ),
    "Overall: 70 % to 80 %, as long as something is open; needed is 75 %: open.": (
        "Total: 70 % a 80 %, mientras algo siga abierto; se necesita 75 %: abierto."
    ),
    "R1, Arrises: level 1 was found; needed is level 2: Crisp, a difference of 1 level.": (
        "R1, Arrises: se encontró nivel 1; se necesita nivel 2: Crisp, una diferencia de 1 nivel."
    ),
    "“5 parsec” cannot be read. Write a number and its unit, such as 1 1/2 in or 38.1 mm.": (
        "“5 parsec” no se puede leer. "
        "Escriba un número y su unidad, por ejemplo 1 1/2 in o 38.1 mm."
    ),
    "At column 3: “x” is no unit.": "En la columna 3: “x” no es una unidad.",
    "Assessed: sill and jamb; these alone are covered. Source: the author.": (
        "Evaluado: sill y jamb; solo estos quedan cubiertos. Fuente: the author."
    ),
    "Depth: 8 in is asked for, the record covers up to 6 in.": (
        "Depth: se pide 8 in; la constancia cubre hasta 6 in."
    ),
    "every 6 months; after a gap it no longer counts": (
        "cada 6 meses; tras una interrupción deja de contar"
    ),
}


@pytest.mark.parametrize("english", SPANISH)
def test_whole_sentences_in_spanish(english: str) -> None:
    assert said(english) == english
    with translation.override("es-us"):
        assert said(english) == SPANISH[english]


def test_lists_and_about_are_said_in_spanish() -> None:
    with translation.override("es-us"):
        assert extent_again("sill, jamb and soffit") == "sill, jamb y soffit"
        assert told("Took 5 min; allowed: 4 min or less.") == (
            "Tiempo: 5 min; permitido: 4 min o menos."
        )
        assert "about" not in said("The reading: about 3.333 mm; allowed: 3 mm or less.")
