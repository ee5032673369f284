"""What is done at the server's command line."""

from io import StringIO
from urllib.parse import urlsplit

import pytest
from django.core.management import CommandError, call_command
from django.db import connection
from django.test import Client

from tests.training.yard import Yard
from tests.triggers import lifted
from training.actions.log import write_log
from training.management.commands import add_person
from training.models import LogEntry, Organisation, Person, Role

FIRST_LEAD = ("Odile@example.org", "Odile Brandreth", "--role", "lead", "--organisation", "Yard X")


def run(*args: str) -> str:
    """Run manage.py and return what it printed."""
    out = StringIO()
    call_command(*args, stdout=out)
    return out.getvalue()


def test_a_whole_log_is_told_with_its_last_row(yard: Yard) -> None:
    assert run("verify_log") == "The log is empty.\n"
    rows = [write_log(actor=None, verb="tested", subject=yard.run) for _ in range(2)]
    out = run("verify_log")
    assert "all 2 rows hold" in out
    assert f"Last row: 2:{rows[1].digest}" in out
    assert "whole" in run("verify_log", "--noted", f"1:{rows[0].digest}")


def test_a_broken_log_is_an_error_that_names_the_row(yard: Yard) -> None:
    for _ in range(3):
        write_log(actor=None, verb="tested", subject=yard.run)
    with lifted("training_logentry"), connection.cursor() as cursor:
        cursor.execute("UPDATE training_logentry SET verb = 'x' WHERE seq = 2")
    with pytest.raises(CommandError, match="broken at row 2: its content") as error:
        run("verify_log")
    assert error.value.returncode == 1


def test_an_end_that_was_cut_off_shows_against_a_noted_row(yard: Yard) -> None:
    rows = [write_log(actor=None, verb="tested", subject=yard.run) for _ in range(3)]
    noted = f"3:{rows[2].digest}"
    with lifted("training_logentry"):
        LogEntry.objects.filter(seq=3).delete()
    assert "whole" in run("verify_log")
    with pytest.raises(CommandError, match="ends before"):
        run("verify_log", "--noted", noted)
    write_log(actor=None, verb="forged", subject=yard.run)
    with pytest.raises(CommandError, match="written anew"):
        run("verify_log", "--noted", noted)


@pytest.mark.parametrize("noted", ["3", "x:" + "a" * 64, "3:abc", "٣:" + "a" * 64])
def test_a_noted_row_that_is_none(yard: Yard, noted: str) -> None:
    write_log(actor=None, verb="tested", subject=yard.run)
    with pytest.raises(CommandError, match="a colon and its digest"):
        run("verify_log", "--noted", noted)


def test_the_first_lead(db: None, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(add_person, "getpass", lambda prompt: "bed joint and head joint")
    assert "Odile Brandreth: Training lead at Yard X." in run("add_person", *FIRST_LEAD)
    person = Person.objects.get(email="odile@example.org")
    assert person.check_password("bed joint and head joint")
    assert Role.objects.get(person=person).organisation.kind == "provider"
    verbs = list(LogEntry.objects.values_list("verb", flat=True))
    assert verbs == ["organisation.added", "role.given", "password.set"]


def test_a_link_instead_of_a_password(db: None, client: Client) -> None:
    out = run("add_person", *FIRST_LEAD, "--link")
    address = urlsplit(out.splitlines()[-1])
    assert client.get(address.path, follow=True).status_code == 200
    assert not Person.objects.get().has_usable_password()


@pytest.mark.parametrize(
    ("answers", "said"),
    [
        (["bed joint and head joint", "bed joint"], "differ"),
        (["short", "short"], "too short"),
        (["password123456", "password123456"], "too common"),
    ],
)
def test_a_password_that_is_refused_saves_nothing(
    db: None, monkeypatch: pytest.MonkeyPatch, answers: list[str], said: str
) -> None:
    replies = iter(answers)
    monkeypatch.setattr(add_person, "getpass", lambda prompt: next(replies))
    with pytest.raises(CommandError, match=said):
        run("add_person", *FIRST_LEAD)
    assert not Person.objects.exists()
    assert not Organisation.objects.exists()


def test_a_known_person_and_organisation_are_taken_as_they_are(yard: Yard) -> None:
    name = yard.provider.name.upper()
    args = (yard.trainee.email.upper(), yard.trainee.full_name, "--role", "lead")
    run("add_person", *args, "--organisation", name)
    assert Role.objects.get(person=yard.trainee).organisation == yard.provider
    with pytest.raises(CommandError, match="already"):
        run("add_person", *args, "--organisation", name)


def test_a_role_that_does_not_fit_the_organisation(db: None) -> None:
    with pytest.raises(CommandError, match="is a contractor"):
        run("add_person", *FIRST_LEAD, "--kind", "contractor", "--link")
    assert not Organisation.objects.exists()


def test_a_link_for_somebody_who_is_shut_out(yard: Yard, client: Client) -> None:
    out = run("password_link", yard.lead.email.upper())
    page = client.get(urlsplit(out.strip()).path, follow=True)
    assert yard.lead.full_name in page.content.decode()
    with pytest.raises(CommandError, match="Nobody is known"):
        run("password_link", "nobody@example.org")
