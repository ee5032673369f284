"""Sending a list by the page: nothing that was entered is lost."""

import html

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client

from tests.training.yard import Yard
from training.models import Enrolment

HEAD = "full_name,email,employer\n"


@pytest.fixture
def path(yard: Yard) -> str:
    """Return the page's address."""
    return f"/runs/{yard.run.pk}/enrol-list/"


@pytest.fixture
def client(yard: Yard) -> Client:
    """Return the lead's client."""
    client = Client()
    client.force_login(yard.lead)
    return client


def upload(content: bytes, name: str = "list.csv") -> SimpleUploadedFile:
    """Return a file to send."""
    return SimpleUploadedFile(name, content, "text/csv")


def enrolled() -> int:
    """Return how many are enrolled beside the yard's own trainee."""
    return Enrolment.objects.count() - 1


def kept(page: str) -> str:
    """Return what the box holds."""
    return html.unescape(page.partition("<textarea")[2].partition(">")[2].partition("<")[0])


def test_a_file_is_enrolled(client: Client, path: str, yard: Yard) -> None:
    content = f"{HEAD}Zoë Stone,zoe@example.org,{yard.firm}\nAda,ada@example.org,\n".encode()
    assert client.post(path, {"file": upload(content)})["Location"] == f"/runs/{yard.run.pk}/"
    assert enrolled() == 2


def test_faults_are_shown_and_the_list_is_kept(client: Client, path: str) -> None:
    text = f"{HEAD}Ada <b>Stone</b>,ada,\nGood One,good@example.org,\n"
    response = client.post(path, {"file": upload(text.encode())})
    page = response.content.decode()
    assert response.status_code == 422
    assert kept(page).strip() == text.strip()
    assert "<b>Stone</b>" not in page
    assert "Row 2" in page
    assert "good_only" in page
    assert enrolled() == 0


def test_the_good_rows_are_enrolled_when_asked_and_the_rest_stays(
    client: Client, path: str
) -> None:
    text = f"{HEAD}Ada Stone,ada,\nGood One,good@example.org,\n"
    response = client.post(path, {"text": text, "good_only": "on"})
    page = response.content.decode()
    assert response.status_code == 200
    assert "1 person is enrolled." in page
    assert enrolled() == 1
    rest = kept(page)
    assert "Good One" not in rest
    mended = rest.replace(",ada,", ",ada@example.org,")
    assert client.post(path, {"text": mended}).status_code == 302
    assert enrolled() == 2


def test_letters_that_were_guessed_are_looked_at_first(client: Client, path: str) -> None:
    content = f"{HEAD}Zoë Stone,zoe@example.org,\n".encode("cp1252")
    response = client.post(path, {"file": upload(content)})
    page = response.content.decode()
    assert "Windows-1252" in page
    assert "Zoë Stone" in kept(page)
    assert enrolled() == 0
    assert client.post(path, {"text": kept(page)}).status_code == 302
    assert enrolled() == 1


@pytest.mark.parametrize(
    ("content", "said"),
    [
        (b"PK\x03\x04workbook", "workbook"),
        (b"", "is empty"),
        (b"x" * 1_000_001, "1,000,001 bytes"),
        (b"a\x00b", "not a text file"),
    ],
)
def test_files_that_cannot_be_read(client: Client, path: str, content: bytes, said: str) -> None:
    response = client.post(path, {"file": upload(content)})
    assert response.status_code == 422
    assert said in response.content.decode()


def test_neither_or_both(client: Client, path: str) -> None:
    assert "Choose a file" in client.post(path, {"text": " "}).content.decode()
    text = f"{HEAD}Ada,ada@example.org,\n"
    both = client.post(path, {"text": text, "file": upload(text.encode())})
    assert "not both" in both.content.decode()
    assert kept(both.content.decode()).strip() == text.strip()
    assert enrolled() == 0


def test_a_closed_run_keeps_the_list(client: Client, path: str, yard: Yard) -> None:
    text = f"{HEAD}Ada,ada@example.org,\n"
    client.post(f"/runs/{yard.run.pk}/close/")
    response = client.post(path, {"text": text})
    assert response.status_code == 422
    assert "This run is closed" in response.content.decode()
    assert kept(response.content.decode()).strip() == text.strip()


def test_a_null_character_is_refused_at_the_field(client: Client, path: str) -> None:
    response = client.post(path, {"text": f"{HEAD}A\x00da,ada@example.org,\n"})
    assert response.status_code == 422
    assert "Null characters are not allowed" in response.content.decode()
