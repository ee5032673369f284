"""The matrix of modules, outcomes and criteria, and its gaps."""

from typing import Any

import pytest

from assessments.actions.programs import load_program
from assessments.programfile.reading import read_program
from assessments.queries.coverage import Column, coverage, coverage_of
from tests.assessments.programfile.sources import SMALL, changed
from tests.factories import make_organisation, make_program, make_role
from training.errors import Refused


def document(*changes: tuple[str, str]) -> dict[str, Any]:
    return read_program(changed(*changes), "sill.yaml").document


def test_the_matrix_names_who_teaches_and_what_assesses() -> None:
    found = coverage_of(document(("teaches: [O1, O2]", "teaches: [O1]")))
    assert found.modules == (Column("M1", "Cutting"),)
    assert [column.key for column in found.criteria] == [
        "arris",
        "width",
        "clean",
        "voids",
        "covered",
    ]
    first, second = found.rows
    assert (first.key, first.teaches) == ("O1", (True,))
    assert first.weights == ("1", "1", None, None, None)
    assert (second.key, second.teaches) == ("O2", (False,))
    assert second.weights == (None, "1/2", "1", "1", "1")


def test_a_covered_program_has_no_gap() -> None:
    assert coverage_of(document()).gaps == ()


def test_an_outcome_that_nothing_teaches_is_a_gap() -> None:
    (gap,) = coverage_of(document(("teaches: [O1, O2]", "teaches: [O1]"))).gaps
    assert (gap.subject, gap.key) == ("outcome", "O2")
    assert gap.sentence.startswith("No module teaches outcome O2: add O2 to")


def test_an_outcome_that_nothing_assesses_is_a_gap() -> None:
    source = document(
        ("  - key: O2\n    statement: Sets the piece.\n",
         "  - key: O2\n    statement: Sets the piece.\n  - key: O3\n    statement: Points it.\n"),
        ("teaches: [O1, O2]", "teaches: [O1, O2, O3]"),
    )  # fmt: skip
    (gap,) = coverage_of(source).gaps
    assert (gap.subject, gap.key) == ("outcome", "O3")
    assert gap.sentence.startswith("No criterion assesses outcome O3: add O3 to")


def test_a_module_that_teaches_nothing_is_a_gap() -> None:
    extra = "  - key: M2\n    title: Lunch\n    kind: lecture\n    minutes: 60\noutcomes:"
    (gap,) = coverage_of(document(("outcomes:", extra))).gaps
    assert (gap.subject, gap.key) == ("module", "M2")
    assert gap.sentence.startswith("Module M2 teaches no outcome: name one")


@pytest.mark.django_db
def test_the_matrix_of_rows_is_that_of_the_file(django_assert_num_queries: Any) -> None:
    provider = make_organisation()
    program = load_program(
        actor=make_role("lead", provider), provider=provider, source=SMALL, filename="sill.yaml"
    )
    with django_assert_num_queries(8):
        found = coverage(program)
    assert found == coverage_of(document())


@pytest.mark.django_db
def test_a_program_without_a_task_says_so() -> None:
    with pytest.raises(Refused, match="load"):
        coverage(make_program(make_organisation()))
