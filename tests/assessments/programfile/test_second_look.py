"""The rules of retake and review in a program file, in the database and in the seal."""

import pytest

from assessments.actions.programs import load_program, load_program_file
from assessments.actions.sealing import seal_standard
from assessments.engine.second_look import RetakeRule, ReviewRule, retake_rule, review_rule
from assessments.engine.standard import sealing_faults
from assessments.models import SecondLookRules
from assessments.programfile.differences import changes_between
from assessments.programfile.faults import Fault, ProgramFileError
from assessments.programfile.reading import read_program
from assessments.programfile.standard import program_path, standard_from_program
from assessments.programfile.writing import write_program
from assessments.queries.program_document import program_document
from tests.assessments.programfile.sources import SMALL
from tests.factories import make_organisation, make_role
from training.models import Organisation, Person

RETAKE = """\
retake:
  after_days: 7
  most: 3
  scope: open_stages
"""
REVIEW = """\
review:
  ask_within_days: 30
  answer_within_days: 21
"""


def faults_of(source: str) -> list[Fault]:
    with pytest.raises(ProgramFileError) as caught:
        read_program(source, "bad.yaml")
    return caught.value.faults


def test_both_are_written_as_they_were_read_and_reach_the_standard() -> None:
    document = read_program(SMALL + RETAKE + REVIEW, "sill.yaml").document
    assert write_program(document) == SMALL + RETAKE + REVIEW
    standard = standard_from_program(document)
    assert retake_rule(standard) == RetakeRule(after_days=7, most=3, scope="open_stages")
    assert review_rule(standard) == ReviewRule(ask_within_days=30, answer_within_days=21)


def test_a_file_without_them_gives_the_standard_that_it_gave() -> None:
    document = read_program(SMALL, "sill.yaml").document
    assert (document["retake"], document["review"]) == (None, None)
    assert set(standard_from_program(document)["about"]) == {"task"}


def test_without_a_number_of_attempts_there_is_none() -> None:
    document = read_program(SMALL + RETAKE.replace("  most: 3\n", ""), "sill.yaml").document
    rule = retake_rule(standard_from_program(document))
    assert rule == RetakeRule(after_days=7, most=None, scope="open_stages")


@pytest.mark.parametrize(
    ("old", "new", "field", "sentence"),
    [
        ("after_days: 7", "after_days: 367", "retake.after_days", "from 0 to 366"),
        ("after_days: 7", "after_days: soon", "retake.after_days", "a whole number"),
        ("most: 3", "most: 0", "retake.most", "from 1 to 20"),
        ("scope: open_stages", "scope: open", "retake.scope", "open_stages"),
        ("  scope: open_stages\n", "", "retake.scope", "this is missing"),
        ("within_days: 30", "within_days: 0", "review.ask_within_days", "from 1 to 366"),
        ("  answer_within_days: 21\n", "", "review.answer_within_days", "this is missing"),
        ("most: 3", "least: 3", "retake.least", "no field is called 'least'"),
    ],
)
def test_a_fault_is_told_at_its_field(old: str, new: str, field: str, sentence: str) -> None:
    source = SMALL + RETAKE + REVIEW
    assert source.count(old) == 1
    (fault,) = faults_of(source.replace(old, new))
    assert fault.field == field
    assert sentence in fault.message


def test_what_the_engine_finds_at_fault_stands_in_the_program_at_its_field() -> None:
    assert program_path("about.retake.most") == ("retake", "most")
    assert program_path("about.review") == ("review",)


def test_a_rule_that_cannot_be_read_is_not_sealed() -> None:
    standard = standard_from_program(read_program(SMALL + RETAKE, "sill.yaml").document)
    assert sealing_faults(standard) == []
    standard["about"]["retake"]["scope"] = "half"
    standard["about"]["review"] = {"ask_within_days": 30}
    assert [error.path for error in sealing_faults(standard)] == [
        "about.retake.scope",
        "about.review.answer_within_days",
    ]


def test_each_change_is_named_in_words_of_its_own() -> None:
    before = read_program(SMALL + RETAKE, "sill.yaml").document
    changed = RETAKE.replace("7", "14").replace("  most: 3\n", "").replace("open_stages", "whole")
    after = read_program(SMALL + changed + REVIEW, "sill.yaml").document
    told = [
        (each.part, each.what, each.before, each.after) for each in changes_between(before, after)
    ]
    assert told == [
        ("Retake", "days to wait after the decision", "7", "14"),
        ("Retake", "what is made again", "open_stages", "whole"),
        ("Retake", "attempts in all", "3", ""),
        ("Review", "days within which it is asked for", "", "30"),
        ("Review", "days within which it is answered", "", "21"),
    ]


@pytest.fixture
def provider(db: None) -> Organisation:
    return make_organisation()


@pytest.fixture
def lead(provider: Organisation) -> Person:
    return make_role("lead", provider)


def test_the_rules_are_stored_replaced_and_taken_away(lead: Person, provider: Organisation) -> None:
    for rules, number in ((RETAKE + REVIEW, 1), (REVIEW, 1), ("", 0), (RETAKE, 1)):
        source = SMALL + rules
        loaded = load_program_file(actor=lead, provider=provider, source=source, filename="s.yaml")
        assert write_program(program_document(loaded.program)) == source
        assert SecondLookRules.objects.count() == number
    source = SMALL + RETAKE
    again = load_program_file(actor=lead, provider=provider, source=source, filename="s.yaml")
    assert again.change == "unchanged"


def test_they_are_sealed_and_go_to_the_next_version(lead: Person, provider: Organisation) -> None:
    source = SMALL + RETAKE + REVIEW
    first = load_program(actor=lead, provider=provider, source=source, filename="s.yaml")
    sealed = seal_standard(actor=lead, program=first)
    assert retake_rule(sealed.document) == RetakeRule(7, 3, "open_stages")
    later = write_program(program_document(first)).replace("version: 1\n", "version: 2\n")
    second = load_program(actor=lead, provider=provider, source=later, filename="s.yaml")
    assert second.second_look_rules.review == {"ask_within_days": 30, "answer_within_days": 21}
