"""The rules of range and continuity in a program file, in the database and in the seal."""

import pytest
from django.test import Client
from django.urls import reverse

from assessments.actions.programs import load_program, load_program_file
from assessments.actions.sealing import seal_standard
from assessments.engine.qualification import rules_in, stated_range
from assessments.models import QualificationRules
from assessments.programfile.faults import Fault, ProgramFileError
from assessments.programfile.reading import read_program
from assessments.programfile.standard import standard_from_program
from assessments.programfile.writing import write_program
from assessments.queries.program_document import program_document
from tests.assessments.programfile.sources import SMALL
from tests.factories import make_organisation, make_role
from training.models import Organisation, Person

SECTION = """\
qualification:
  basis: |-
    Set by the author of the program.
    No table is published for masonry.
  variables:
    - key: position
      title: Position
      kind: ordered
      values: [sill, jamb, soffit]
      assessed: jamb
      source: Author
    - key: stone
      title: Stone
      kind: as_assessed
      values: [sandstone, limestone]
      assessed: [sandstone]
      source: Author
    - key: finish
      title: Finish
      kind: as_assessed
      values: [tooled, rubbed]
      assessed: tooled
      source: Author
    - key: width
      title: Width
      kind: window
      unit: in
      dimension: opening
      from: 1/2
      to: 1 1/2
      source: Author
    - key: joint
      title: Joint
      kind: window
      unit: in
      assessed: 1/8 in
      to: 2
      source: Author
  continuity:
    every_months: 6
    grace_days: 30
  renewal:
    before_days: 90
    after_days: 0
    stages: [fit]
"""
SMALL_RANGED = SMALL + SECTION


def changed(old: str, new: str) -> str:
    assert SMALL_RANGED.count(old) == 1, old
    return SMALL_RANGED.replace(old, new)


def faults_of(source: str) -> list[Fault]:
    with pytest.raises(ProgramFileError) as caught:
        read_program(source, "bad.yaml")
    return caught.value.faults


def test_the_section_is_canonical_and_stored_exactly() -> None:
    document = read_program(SMALL_RANGED, "sill.yaml").document
    assert write_program(document) == SMALL_RANGED
    width, joint = document["qualification"]["variables"][3:]
    assert (width["from"], width["to"], width["dimension"]) == ("1/2", "3/2", "opening")
    assert (joint["assessed"], joint["from"], joint["to"]) == ("1/8", None, "2")


def test_a_file_without_the_section_gives_the_standard_that_it_gave() -> None:
    document = read_program(SMALL, "sill.yaml").document
    assert document["qualification"] is None
    assert set(standard_from_program(document)["about"]) == {"task"}


# What is changed, the line at fault, the field, and a part of the sentence.
FAULTS = [
    ("assessed: jamb", "assessed: arch", "assessed: arch",
     "qualification.variables[position].assessed", "sill, jamb, soffit"),
    ("[sill, jamb, soffit]", "[sill, jamb, jamb]", "values: [sill, jamb, jamb]",
     "qualification.variables[position].values[#3]", "stands twice"),
    ("dimension: opening", "dimension: gap", "dimension: gap",
     "qualification.variables[width].dimension", "known: joint, opening"),
    ("to: 1 1/2", "to: 1/2", "to: 1/2", "qualification.variables[width].to", "1 or more"),
    ("assessed: 1/8 in", "assessed: 1/8 lb", "assessed: 1/8 lb",
     "qualification.variables[joint].assessed", "in"),
    ("stages: [fit]", "stages: [fitt]", "stages: [fitt]", "qualification.renewal.stages[#1]",
     "known: fit, set"),
    ("key: finish", "key: stone", "- key: stone", "qualification.variables[stone].key",
     "stands twice"),
    ("every_months: 6", "every_months: 0", "every_months: 0",
     "qualification.continuity.every_months", "a whole number from 1 to 120"),
    ("kind: ordered", "kind: order", "kind: order", "qualification.variables[position].kind",
     "did you mean 'ordered'?"),
    ("      from: 1/2\n", "      values: [a]\n      from: 1/2\n", "values: [a]",
     "qualification.variables[width].values", "only an ordered or as_assessed variable has it"),
    ("validity_months: 24\n", "", "before_days: 90", "qualification.renewal",
     "write validity_months too"),
]  # fmt: skip


@pytest.mark.parametrize(("old", "new", "line", "field", "sentence"), FAULTS)
def test_a_fault_is_told_at_its_line(
    old: str, new: str, line: str, field: str, sentence: str
) -> None:
    source = changed(old, new)
    (fault,) = faults_of(source)
    assert source.splitlines()[fault.line - 1].strip() == line
    assert fault.field == field
    assert sentence in fault.message


@pytest.fixture
def provider(db: None) -> Organisation:
    return make_organisation()


@pytest.fixture
def lead(provider: Organisation) -> Person:
    return make_role("lead", provider)


def test_the_section_is_stored_replaced_and_taken_away(
    lead: Person, provider: Organisation
) -> None:
    for source, number in ((SMALL_RANGED, 1), (changed("assessed: jamb", "assessed: sill"), 1),
                           (SMALL, 0), (SMALL_RANGED, 1)):  # fmt: skip
        loaded = load_program_file(actor=lead, provider=provider, source=source, filename="s.yaml")
        assert write_program(program_document(loaded.program)) == source
        assert QualificationRules.objects.count() == number
    again = load_program_file(actor=lead, provider=provider, source=SMALL_RANGED, filename="s.yaml")
    assert again.change == "unchanged"


def test_a_new_version_takes_the_rules_with_it(lead: Person, provider: Organisation) -> None:
    first = load_program(actor=lead, provider=provider, source=SMALL_RANGED, filename="s.yaml")
    seal_standard(actor=lead, program=first)
    # A version is written from the file that the one before gives.
    source = write_program(program_document(first)).replace("version: 1\n", "version: 2\n")
    second = load_program(actor=lead, provider=provider, source=source, filename="s.yaml")
    assert second.pk != first.pk
    assert second.qualification_rules.document == first.qualification_rules.document


def test_what_is_sealed_can_be_read_and_is_shown(lead: Person, provider: Organisation) -> None:
    program = load_program(actor=lead, provider=provider, source=SMALL_RANGED, filename="s.yaml")
    client = Client()
    client.force_login(lead)
    draft = client.get(reverse("standard", args=[program.pk])).text
    sealed = seal_standard(actor=lead, program=program)
    shown = client.get(reverse("sealed_standard", args=[sealed.pk])).text
    rules = rules_in(sealed.document)
    assert rules is not None
    assert rules.basis == "Set by the author of the program.\nNo table is published for masonry."
    stated = stated_range(sealed.document)
    assert stated is not None
    assert [row["covers"] for row in stated["rows"]] == [
        "Sill and jamb.",
        "Sandstone.",
        "Tooled.",
        "3 in to 9 in.",  # half and one and a half of 6 in
        "Up to 1/4 in.",
    ]
    for text in (draft, shown):
        for row in stated["rows"]:
            assert row["rule"] in text
        assert stated["continuity"] in text
        assert "No table is published for masonry." in text


def test_a_standard_without_rules_says_so(lead: Person, provider: Organisation) -> None:
    program = load_program(actor=lead, provider=provider, source=SMALL, filename="s.yaml")
    client = Client()
    client.force_login(lead)
    assert "sets no rules for that" in client.get(reverse("standard", args=[program.pk])).text


def test_rules_that_cannot_be_read_are_not_sealed(lead: Person, provider: Organisation) -> None:
    program = load_program(actor=lead, provider=provider, source=SMALL_RANGED, filename="s.yaml")
    rules = program.qualification_rules
    rules.document["variables"][0]["assessed"] = "arch"
    rules.save()
    client = Client()
    client.force_login(lead)
    text = client.get(reverse("standard", args=[program.pk])).text
    assert "This keeps the draft from being sealed" in text
    assert "sill, jamb, soffit" in text
