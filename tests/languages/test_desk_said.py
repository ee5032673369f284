"""What the desk keeps or compares stays English and is said in Spanish where it is shown.

The faulty files are those of the tests of the program file; the Spanish was written by hand for
this program.
"""

import uuid

import pytest
from django.utils import translation

from assessments.actions.site.batches import receive
from assessments.models import SetAside
from assessments.programfile.adapting import field_of
from assessments.programfile.differences import changes_between
from assessments.programfile.faults import Fault
from assessments.programfile.reading import read_program
from assessments.sentences import pass_rule_sentences
from tests.assessments.builders import make_yard
from tests.assessments.programfile.sources import SMALL, changed
from tests.assessments.programfile.test_bad_files import NOT_PLAIN, ONE_FAULT, faults_of
from tests.assessments.site.events import make_pack, photo_event, scored
from training.said import said, unknown


@pytest.mark.parametrize(("old", "new"), [row[:2] for row in ONE_FAULT])
def test_every_fault_of_a_program_file_is_known(old: str, new: str) -> None:
    assert [each.message for each in faults_of(changed((old, new))) if unknown(each.message)] == []


@pytest.mark.parametrize("source", [row[0] for row in NOT_PLAIN])
def test_every_fault_of_what_is_not_plain_yaml_is_known(source: bytes | str) -> None:
    assert [each.message for each in faults_of(source) if unknown(each.message)] == []


def test_a_fault_is_told_in_the_language_of_who_loads_the_file() -> None:
    fault = Fault(7, 3, "title", "'x' is neither; write a text of at most 200 characters")
    with translation.override("es"):
        line = fault.sentence("a.yaml")
        assert field_of(fault)[0] == "title"
    assert line == (
        "a.yaml:7:3: title: 'x' no es ni lo uno ni lo otro; "
        "escriba un texto de 200 caracteres como máximo"
    )


def test_the_rules_of_a_standard_are_known() -> None:
    document = read_program(SMALL, "small.yaml").document
    standard = {**document["task"], "outcomes": document["outcomes"]}
    rules = pass_rule_sentences({**standard, "pass_rule": document["pass_rule"]})
    assert rules
    assert [each for each in rules if unknown(each)] == []
    with translation.override("es"):
        assert said(rules[-1]) != rules[-1]


def test_differences_are_told_in_the_language_of_the_reader() -> None:
    before = read_program(SMALL, "a.yaml").document
    after = read_program(changed(("cut: 70 %", "cut: 75 %")), "b.yaml").document
    with translation.override("es"):
        (change,) = changes_between(before, after)
    assert (change.what, change.before, change.after) == ("puntaje total mínimo", "70 %", "75 %")


@pytest.mark.django_db
def test_why_an_event_is_set_aside_is_kept_in_english_whatever_language_sends_it() -> None:
    yard = make_yard()
    attempt = yard.attempt()
    sent = [
        7,
        {"id": "x"},
        scored(attempt, "C9", {"level": 1}),
        scored(attempt, "C1", {"level": 77}),
        {**scored(attempt, "C1", {"level": 1}), "device": str(uuid.uuid4())},
        {**scored(attempt, "C1", {"level": 1}), "schema_version": 99},
        {**photo_event(attempt, b"c"), "kind": "film"},
    ]
    with translation.override("es"):
        results = receive(make_pack(yard), sent)
        told = [each.document()["sentence"] for each in results]
    kept = dict(SetAside.objects.values_list("content_digest", "sentence"))
    assert len(kept) == len(sent)
    assert {each.sentence for each in results} == set(kept.values())
    assert [each for each in kept.values() if unknown(each)] == []
    assert not set(told) & set(kept.values())
