"""Loading a file into the database: all of it or nothing, and who may."""

from pathlib import Path
from typing import Any

import pytest
from django.core.exceptions import PermissionDenied
from django.db.models import Model

from assessments.actions.programs import load_program, load_program_file
from assessments.actions.sealing import seal_standard
from assessments.models import Criterion, CriterionOutcome, PassRule, PracticalTask, Stage
from assessments.programfile.faults import ProgramFileError
from assessments.programfile.reading import read_program
from assessments.programfile.writing import write_program
from assessments.queries.program_document import program_document
from tests.assessments.programfile.sources import SMALL, changed
from tests.factories import enrol, make_organisation, make_person, make_program, make_role, make_run
from training.errors import Refused
from training.models import LogEntry, Module, Organisation, Outcome, Person, Program

pytestmark = pytest.mark.django_db

PROGRAMS = sorted((Path(__file__).parents[3] / "fixtures" / "programs").glob("*.yaml"))
TABLES: list[type[Model]] = [
    Program,
    Module,
    Outcome,
    PracticalTask,
    Stage,
    Criterion,
    CriterionOutcome,
    PassRule,
    LogEntry,
]


def counts() -> list[int]:
    return [table._default_manager.count() for table in TABLES]


@pytest.fixture
def provider() -> Organisation:
    return make_organisation()


@pytest.fixture
def lead(provider: Organisation) -> Person:
    return make_role("lead", provider)


def load(lead: Person, provider: Organisation, source: str = SMALL) -> Program:
    return load_program(actor=lead, provider=provider, source=source, filename="sill.yaml")


@pytest.mark.parametrize("path", PROGRAMS, ids=lambda path: path.stem)
def test_a_shipped_program_comes_out_of_the_database_byte_for_byte(
    path: Path, lead: Person, provider: Organisation
) -> None:
    source = path.read_bytes()
    program = load_program(actor=lead, provider=provider, source=source, filename=path.name)
    assert write_program(program_document(program)).encode() == source


def test_a_file_becomes_rows(lead: Person, provider: Organisation) -> None:
    program = load(lead, provider)
    assert counts() == [1, 1, 2, 1, 2, 5, 6, 1, 1]
    assert (program.code, program.version, program.validity_months) == ("SILL", 1, 24)
    width = Criterion.objects.get(key="width")
    assert (width.position, width.stage.key, width.weight) == (2, "fit", "3/2")
    assert width.definition["limits"]["upper"] == "97/16"
    assert "serves" not in width.definition
    assert "title" not in width.definition
    assert {each.outcome.key: each.weight for each in width.serves.all()} == {
        "O1": "1",
        "O2": "1/2",
    }
    entry = LogEntry.objects.get()
    assert (entry.verb, entry.actor, entry.subject_id) == ("program.loaded", lead, str(program.pk))
    assert entry.data["file"] == "sill.yaml"


def test_the_same_file_again_changes_nothing(lead: Person, provider: Organisation) -> None:
    first = load(lead, provider)
    before = counts()
    again = load_program_file(actor=lead, provider=provider, source=SMALL, filename="other.yaml")
    assert (again.program, again.change) == (first, "unchanged")
    assert counts() == before


def test_a_changed_file_replaces_the_parts_of_an_unsealed_version(
    lead: Person, provider: Organisation
) -> None:
    first = load(lead, provider)
    run = make_run(first)
    source = changed(("title: Sill repair", "title: Jamb repair"), ("key: M1", "key: N1"))
    again = load_program_file(actor=lead, provider=provider, source=source, filename="sill.yaml")
    assert (again.program.pk, again.change) == (first.pk, "replaced")
    run.refresh_from_db()
    assert run.program.title == "Jamb repair"
    assert [module.key for module in first.modules.all()] == ["N1"]
    assert counts() == [1, 1, 2, 1, 2, 5, 6, 1, 2]
    assert program_document(first) == read_program(source, "sill.yaml").document


def test_a_program_that_was_made_without_parts_gets_them(
    lead: Person, provider: Organisation
) -> None:
    bare = make_program(provider, code="SILL")
    with pytest.raises(Refused, match="no practical task"):
        program_document(bare)
    loaded = load_program_file(actor=lead, provider=provider, source=SMALL, filename="sill.yaml")
    assert (loaded.program, loaded.change) == (bare, "replaced")


def test_a_changed_file_for_a_sealed_version_is_refused_and_names_the_next(
    lead: Person, provider: Organisation
) -> None:
    program = load(lead, provider)
    seal_standard(actor=lead, program=program)
    before = counts()
    with pytest.raises(ProgramFileError) as caught:
        load(lead, provider, changed(("title: Sill repair", "title: Other")))
    (fault,) = caught.value.faults
    assert (fault.line, fault.field) == (3, "version")
    assert "is sealed" in fault.message
    assert "write version: 2" in fault.message
    assert counts() == before
    unchanged = load_program_file(actor=lead, provider=provider, source=SMALL, filename="s.yaml")
    assert unchanged.change == "unchanged"
    second = load(lead, provider, changed(("version: 1\n", "version: 2\n")))
    assert (second.version, Program.objects.count()) == (2, 2)


def test_a_bad_file_loads_nothing(lead: Person, provider: Organisation) -> None:
    with pytest.raises(ProgramFileError):
        load(lead, provider, changed(("combine: mean", "combine: most")))
    assert counts() == [0] * len(TABLES)


@pytest.mark.parametrize("fresh", [True, False])
def test_a_failure_in_the_middle_leaves_nothing_half_loaded(
    fresh: bool, lead: Person, provider: Organisation, monkeypatch: pytest.MonkeyPatch
) -> None:
    if not fresh:
        load(lead, provider)
    before = counts()

    def fail(*args: Any, **kwargs: Any) -> None:
        raise RuntimeError("the machine stops here")

    monkeypatch.setattr(CriterionOutcome.objects, "bulk_create", fail)
    with pytest.raises(RuntimeError, match="stops here"):
        load(lead, provider, changed(("title: Sill repair", "title: Other")))
    assert counts() == before
    assert not Program.objects.filter(title="Other").exists()


def test_two_providers_may_hold_the_same_code(lead: Person, provider: Organisation) -> None:
    other = make_organisation()
    first = load(lead, provider)
    second = load(make_role("lead", other), other)
    assert first.pk != second.pk


@pytest.mark.parametrize("kind", ["instructor", "contractor"])
def test_other_roles_at_the_provider_are_refused(kind: str, provider: Organisation) -> None:
    with pytest.raises(PermissionDenied):
        load(make_role(kind, provider), provider)
    assert Program.objects.count() == 0


@pytest.mark.parametrize("kind", ["lead", "instructor", "contractor"])
def test_roles_at_another_provider_are_refused(kind: str, provider: Organisation) -> None:
    with pytest.raises(PermissionDenied):
        load(make_role(kind, make_organisation()), provider)
    assert Program.objects.count() == 0


def test_a_trainee_of_the_program_is_refused(lead: Person, provider: Organisation) -> None:
    trainee = make_person()
    enrol(make_run(load(lead, provider)), trainee)
    with pytest.raises(PermissionDenied):
        load(trainee, provider, changed(("title: Sill repair", "title: Mine")))
    assert Program.objects.get().title == "Sill repair"


def test_a_contractor_cannot_hold_programs() -> None:
    contractor = make_organisation("contractor")
    with pytest.raises(Refused, match="no training provider"):
        load(make_role("lead", contractor), contractor)


def test_order_of_what_is_named_does_not_count_as_a_change(
    lead: Person, provider: Organisation
) -> None:
    load(lead, provider)
    source = changed(("[O1, O2]", "[O2, O1]"), ("{O1: 1, O2: 1/2}", "{O2: 1/2, O1: 1}"))
    again = load_program_file(actor=lead, provider=provider, source=source, filename="s.yaml")
    assert again.change == "unchanged"


def test_a_time_held_in_hours_comes_out_in_minutes(lead: Person, provider: Organisation) -> None:
    """Rows may hold any unit of time that the engine knows; a file holds minutes."""
    program = load(lead, provider)
    timed = Criterion.objects.get(key="covered")
    timed.definition = {"limits": {"lower": "1/2", "upper": None}, "unit": "h"}
    timed.save()
    assert program_document(program)["task"]["criteria"][4]["limits"] == {
        "lower": "30",
        "upper": None,
    }


@pytest.mark.parametrize("path", PROGRAMS, ids=lambda path: path.stem)
def test_the_number_of_queries_does_not_grow_with_the_program(
    path: Path, lead: Person, provider: Organisation, django_assert_num_queries: Any
) -> None:
    small = load(lead, provider)
    large = load_program(
        actor=lead, provider=provider, source=path.read_bytes(), filename=path.name
    )
    for program in (small, large):
        with django_assert_num_queries(8):
            program_document(program)
