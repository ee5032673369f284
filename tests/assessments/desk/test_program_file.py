"""Needs, changes and prerequisites in the program file: kept, written again, never sealed."""

from pathlib import Path

import pytest

from assessments.actions.programs import load_program_file
from assessments.programfile.faults import ProgramFileError
from assessments.programfile.reading import read_program
from assessments.programfile.standard import standard_from_program
from assessments.programfile.writing import write_program
from assessments.queries.program_document import program_document
from tests.assessments.programfile.sources import SMALL, changed
from tests.factories import make_organisation, make_role
from training.digests import digest
from training.models import Role

PREREQUISITES = """\
prerequisites:
  - key: induction
    title: Site induction
    for: course
    accepts: The sheet of the site, signed.
    source: Set by the project
  - key: fit
    title: Respirator fit test
    for: practical
    accepts: |-
      A record of the test.
      Not older than a year.
    source: Set by the project; local codes come first
"""
WHOLE = changed(
    ("version: 1\n", "version: 1\nchanges: Joints are measured at four places.\n"),
    ("validity_months", "needs: |-\n  Two sills leaked.\n  Nobody else is near.\nvalidity_months"),
    ("unit: in\nmodules", f"unit: in\n{PREREQUISITES}modules"),
)
ADDED = ("needs", "changes", "prerequisites")
PROGRAMS = sorted((Path(__file__).parents[3] / "fixtures" / "programs").glob("*.yaml"))


@pytest.mark.django_db
def test_what_is_loaded_is_written_again_byte_for_byte() -> None:
    provider = make_organisation()
    lead = make_role(Role.Kind.LEAD, provider)
    loaded = load_program_file(actor=lead, provider=provider, source=WHOLE, filename="a.yaml")
    rows = loaded.program.prerequisites.values_list("position", "key", "applies")
    assert list(rows) == [(1, "induction", "course"), (2, "fit", "practical")]
    assert loaded.program.needs == "Two sills leaked.\nNobody else is near."
    assert write_program(program_document(loaded.program)) == WHOLE
    again = load_program_file(actor=lead, provider=provider, source=WHOLE, filename="a.yaml")
    assert again.change == "unchanged"
    fewer = load_program_file(actor=lead, provider=provider, source=SMALL, filename="a.yaml")
    assert fewer.change == "replaced"
    assert not fewer.program.prerequisites.exists()
    assert (fewer.program.needs, fewer.program.changes) == ("", "")


def test_no_part_of_it_is_sealed() -> None:
    with_it, without = (read_program(each, "a.yaml").document for each in (WHOLE, SMALL))
    assert with_it != without
    assert standard_from_program(with_it) == standard_from_program(without)


@pytest.mark.parametrize("path", PROGRAMS, ids=lambda path: path.stem)
def test_the_standard_of_a_shipped_program_is_the_same_without_them(path: Path) -> None:
    document = read_program(path.read_bytes(), path.name).document
    assert document["prerequisites"]
    before = {name: part for name, part in document.items() if name not in ADDED}
    assert len(before) == len(document) - len(ADDED)
    assert digest(standard_from_program(before)) == digest(standard_from_program(document))


@pytest.mark.parametrize(
    ("old", "new", "line", "field", "sentence"),
    [
        ("for: course", "for: all", "for: all", "prerequisites[induction].for", "course"),
        (
            "key: fit\n    title: R",
            "key: instructor\n    title: R",
            "- key: instructor",
            "prerequisites[instructor].key",
            "kept for who teaches",
        ),
        (
            "key: fit\n    title: R",
            "key: induction\n    title: R",
            "- key: induction",
            "prerequisites[induction].key",
            "used twice",
        ),
        (
            "    source: Set by the project\n  - key: fit",
            "  - key: fit",
            "- key: induction",
            "prerequisites[induction].source",
            "this is missing",
        ),
    ],
)
def test_a_fault_is_named_at_its_line(
    old: str, new: str, line: str, field: str, sentence: str
) -> None:
    assert WHOLE.count(old) == 1
    source = WHOLE.replace(old, new)
    with pytest.raises(ProgramFileError) as caught:
        read_program(source, "bad.yaml")
    (fault,) = caught.value.faults
    assert source.splitlines()[fault.line - 1].strip() == line
    assert fault.field == field
    assert sentence in fault.message
