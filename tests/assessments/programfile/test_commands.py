"""manage.py load_program, dump_program and seal_standard."""

from io import StringIO
from pathlib import Path

import pytest
from django.core.management import CommandError, call_command

from assessments.models import SealedStandard
from tests.assessments.programfile.sources import SMALL, changed
from tests.factories import make_organisation, make_person, make_program, make_role
from training.models import LogEntry, Organisation, Person, Program, Role

pytestmark = pytest.mark.django_db


def run(*arguments: str) -> str:
    out = StringIO()
    call_command(*arguments, stdout=out)
    return out.getvalue()


@pytest.fixture
def provider() -> Organisation:
    return make_organisation(name="Ashlar Row Training Yard")


@pytest.fixture
def lead(provider: Organisation) -> Person:
    return make_role("lead", provider, "Odile Brandreth")


@pytest.fixture
def file(tmp_path: Path) -> Path:
    path = tmp_path / "sill.yaml"
    path.write_text(SMALL, encoding="utf-8")
    return path


@pytest.mark.usefixtures("lead")
def test_a_file_loaded_is_dumped_byte_for_byte(file: Path) -> None:
    assert run("load_program", str(file)) == "Sill repair (SILL, version 1): created.\n"
    assert run("dump_program", "SILL") == SMALL


def test_loading_again_says_what_that_changed(file: Path, lead: Person) -> None:
    run("load_program", str(file))
    assert "unchanged" in run("load_program", str(file), "--lead", lead.email.upper())
    file.write_text(changed(("teaches: [O1, O2]", "teaches: [O1]")), encoding="utf-8")
    said = run("load_program", str(file), "--provider", "ashlar row training yard")
    assert "replaced" in said
    assert "Before sealing: No module teaches outcome O2" in said
    assert LogEntry.objects.latest("seq").actor == lead


@pytest.mark.usefixtures("lead")
def test_faults_are_printed_with_the_path_and_line(file: Path) -> None:
    file.write_text(changed(("minimum: 60 %", "minimum: 60")), encoding="utf-8")
    with pytest.raises(CommandError, match=r"sill\.yaml:16:14: outcomes\[O1\]\.minimum: '60'"):
        run("load_program", str(file))
    assert Program.objects.count() == 0


@pytest.mark.usefixtures("lead")
def test_a_file_that_cannot_be_read_says_so(tmp_path: Path) -> None:
    with pytest.raises(CommandError, match="cannot be read: No such file"):
        run("load_program", str(tmp_path / "none.yaml"))
    with pytest.raises(CommandError, match="cannot be read: Is a directory"):
        run("load_program", str(tmp_path))


@pytest.mark.usefixtures("lead")
def test_a_file_over_the_limit_is_not_read_whole(file: Path) -> None:
    file.write_text("x" * 1_000_001, encoding="utf-8")
    with pytest.raises(CommandError, match="over 1,000,000 bytes"):
        run("load_program", str(file))


def test_without_a_lead_the_command_says_how_to_make_one(file: Path) -> None:
    with pytest.raises(CommandError, match=r"manage\.py add_person EMAIL NAME --role lead"):
        run("load_program", str(file))


def test_of_several_leads_one_has_to_be_named(
    file: Path, lead: Person, provider: Organisation
) -> None:
    other = make_role("lead", make_organisation())
    with pytest.raises(CommandError, match="Say which lead with --lead and --provider") as caught:
        run("load_program", str(file))
    assert lead.email in str(caught.value)
    assert other.email in str(caught.value)
    run("load_program", str(file), "--lead", other.email)
    assert Program.objects.get().provider != provider


def test_an_instructor_is_not_a_lead(file: Path, provider: Organisation) -> None:
    person = make_person()
    Role.objects.create(person=person, organisation=provider, kind="instructor")
    with pytest.raises(CommandError, match="No training lead fits"):
        run("load_program", str(file), "--lead", person.email)


@pytest.mark.usefixtures("lead")
def test_the_latest_version_is_dumped_unless_one_is_named(file: Path) -> None:
    run("load_program", str(file))
    second = changed(("version: 1\n", "version: 2\n"), ("title: Sill repair", "title: Second"))
    file.write_text(second, encoding="utf-8")
    run("load_program", str(file))
    assert run("dump_program", "SILL") == second
    assert run("dump_program", "SILL", "--version", "1") == SMALL
    with pytest.raises(CommandError, match=r"no such program\. There are: SILL version"):
        run("dump_program", "SILL", "--version", "3")


def test_dump_says_what_there_is(provider: Organisation) -> None:
    with pytest.raises(CommandError, match="None is loaded yet"):
        run("dump_program", "SILL")
    make_program(provider, code="BARE")
    with pytest.raises(CommandError, match="There are: BARE version 1"):
        run("dump_program", "SILL")
    with pytest.raises(CommandError, match="no practical task or no pass rule"):
        run("dump_program", "BARE")


def test_a_code_of_two_providers_needs_the_provider(file: Path, lead: Person) -> None:
    other = make_organisation(name="Second Yard")
    second = make_role("lead", other)
    run("load_program", str(file), "--lead", lead.email)
    run("load_program", str(file), "--lead", second.email)
    with pytest.raises(CommandError, match="--provider: Ashlar Row Training Yard, Second Yard"):
        run("dump_program", "SILL")
    assert run("dump_program", "SILL", "--provider", "second yard") == SMALL


@pytest.mark.usefixtures("lead")
def test_sealing_prints_the_digest(file: Path) -> None:
    run("load_program", str(file))
    said = run("seal_standard", "SILL")
    assert f"SHA-256: {SealedStandard.objects.get().digest}" in said
    with pytest.raises(CommandError, match="sealed already, as standard 1"):
        run("seal_standard", "SILL")
    file.write_text(changed(("title: Sill repair", "title: Other")), encoding="utf-8")
    with pytest.raises(CommandError, match="is sealed and cannot change any more"):
        run("load_program", str(file))
