"""Checking a file that somebody sends: the page and its JSON."""

import json
from datetime import timedelta
from io import BytesIO
from typing import Any

import pytest
from django.conf import settings
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from certificates.actions.guesses import WINDOW
from certificates.actions.issue import issue_record
from certificates.actions.uploads import LIMIT
from certificates.keys import keystore_of
from certificates.models import Record
from certificates.models.guesses import SentFile
from certificates.numbers import new_number
from certificates.queries import check_file, steps
from certificates.rendering import render
from certificates.sandbox import Busy, NotStarted, limits
from certificates.signing import Verdict, sign, verdict
from certificates.signing.verify import MAX_BYTES
from tests.assessments.builders import make_yard
from tests.certificates.builders import decide_attempt, file_of
from tests.certificates.check.hostile import FILES
from tests.certificates.conftest import Issued
from tests.triggers import lifted

GENUINE = "This file is genuine and the record holds today"
NOT_TODAY = "This file is genuine, but the record does not hold today"
NOT_VOUCHED = "This file cannot be vouched for"


def send(client: Client, pdf: bytes, number: str = "", **extra: Any) -> Any:
    """Send a file to the page."""
    upload = SimpleUploadedFile("record.pdf", pdf, "application/pdf")
    return client.post(reverse("check_file"), {"file": upload, "number": number}, **extra)


def told(client: Client, pdf: bytes, number: str = "") -> dict[str, Any]:
    """Send a file as a program does."""
    upload = SimpleUploadedFile("record.pdf", pdf, "application/pdf")
    response = client.post(reverse("check_file_json"), {"file": upload, "number": number})
    found: dict[str, Any] = response.json()
    return found


def forged(issued: Issued, **changes: Any) -> bytes:
    """Return a record that the issuer's own key signed, though no register lists it."""
    return sign(
        render({**issued.record.document, **changes}, paper="letter"),
        keystore_of(issued.yard.provider),
        signing_time=issued.record.issued_at,
        reason="Record",
        location="Yard",
    )


def test_the_file_as_it_was_issued(issued: Issued, client: Client) -> None:
    response = send(client, file_of(issued.record))
    assert response.status_code == 200
    for text in (GENUINE, issued.yard.trainee.full_name, issued.record.number, "Sets a dutchman"):
        assert text in response.text
    assert "no-store" in response["Cache-Control"]
    assert "noindex" in response["X-Robots-Tag"]
    assert "certified" not in response.text.lower()
    for title in (steps.TITLES[key] for key in (*steps.WITH_LISTS, steps.REGISTER)):
        assert title.replace("'", "&#x27;") in response.text
    assert "Not reached" not in response.text
    assert issued.yard.trainee.email not in response.text


def test_the_same_for_a_program(issued: Issued, client: Client) -> None:
    found = told(client, file_of(issued.record), issued.record.number)
    assert (found["genuine"], found["status"], found["faults"]) == (True, "current", [])
    assert [step["step"] for step in found["steps"]] == [
        *steps.WITH_LISTS,
        steps.REGISTER,
        steps.ASKED,
    ]
    assert {step["state"] for step in found["steps"]} == {steps.GOOD}
    assert found["record"]["holder"] == {"name": issued.yard.trainee.full_name}
    assert "assessors" not in json.dumps(found)


def test_another_record_than_the_number_says(issued: Issued, client: Client) -> None:
    other = new_number()
    response = send(client, file_of(issued.record), other)
    assert NOT_VOUCHED in response.text
    assert f"This is the file of record {issued.record.number}, not of {other}." in response.text
    assert issued.yard.trainee.full_name not in response.text
    found = told(client, file_of(issued.record), other)
    assert found["steps"][-1]["state"] == steps.WRONG
    assert "record" not in found


@pytest.mark.parametrize("name", ["encrypted", "altered", "a million pages", "deep arrays"])
def test_hostile_files(issued: Issued, client: Client, name: str) -> None:
    """The others are read by ``test_sandbox``."""
    make, expected = FILES[name]
    response = send(client, make(file_of(issued.record)))
    assert response.status_code == 200
    assert NOT_VOUCHED in response.text
    assert any(sentence.replace("'", "&#x27;") in response.text for sentence in expected)
    assert "Not reached" in response.text
    assert issued.yard.trainee.full_name not in response.text


def test_100_mb(issued: Issued, client: Client) -> None:
    """It is read to its end and dropped, so that the sentence reaches who sent it."""
    response = send(client, b"%PDF-1.7\n" + bytes(100_000_000))
    assert response.status_code == 200
    assert verdict.TOO_LARGE in response.text


def test_many_files_at_once_count_as_the_first(issued: Issued, client: Client) -> None:
    files = [BytesIO(file_of(issued.record)), BytesIO(bytes(MAX_BYTES))]
    response = client.post(reverse("check_file"), {"file": files, "more": BytesIO(b"x")})
    assert GENUINE in response.text


def test_an_issuer_that_is_not_known_here(issued: Issued, client: Client) -> None:
    pdf = file_of(issued.record)
    for path in (settings.KEY_FOLDER / f"provider-{issued.yard.provider.pk}").glob("root-*"):
        path.unlink()
    response = send(client, pdf)
    assert verdict.UNKNOWN_ISSUER in response.text
    assert "Anybody can write that" in response.text
    assert f"{issued.yard.provider.name[:30]}" in response.text
    assert issued.yard.trainee.full_name not in response.text


def test_signed_by_the_issuer_but_in_no_register(issued: Issued, client: Client) -> None:
    response = send(client, forged(issued, number=new_number(), holder={"name": "Gaspar Untold"}))
    assert steps.UNLISTED.replace("'", "&#x27;") in response.text
    assert "Gaspar Untold" not in response.text


def test_signed_by_the_issuer_with_a_number_that_is_anothers(
    issued: Issued, client: Client
) -> None:
    response = send(client, forged(issued, holder={"name": "Gaspar Untold"}))
    assert steps.OTHER_RECORD.replace("'", "&#x27;") in response.text
    assert "Gaspar Untold" not in response.text


def test_another_issuer_of_this_server_cannot_speak_for_this_one(
    issued: Issued, client: Client
) -> None:
    other = make_yard()
    pdf = sign(
        render(issued.record.document, paper="letter"),
        keystore_of(other.provider),
        signing_time=issued.record.issued_at,
        reason="Record",
        location="Yard",
    )
    found = told(client, pdf)
    assert found["faults"] == [steps.OTHER_RECORD]


def test_a_record_that_lapsed(
    issued: Issued, client: Client, monkeypatch: pytest.MonkeyPatch
) -> None:
    last = issued.record.valid_until
    assert last is not None
    later = timezone.now() + timedelta(days=4 * 365)
    monkeypatch.setattr(timezone, "now", lambda: later)
    text = send(client, file_of(issued.record)).text
    assert NOT_TODAY in text
    assert f"the record lapsed at the end of {last:%-d %B %Y}" in text


def test_a_record_that_was_replaced(issued: Issued, client: Client) -> None:
    anew = decide_attempt(
        issued.decision.attempt, issued.yard.instructor, replaces=issued.decision, C1={"level": 1}
    )
    pdf = file_of(issued.record)
    assert told(client, pdf)["status"] == "withdrawn"
    assert NOT_TODAY in send(client, pdf).text
    second = issue_record(actor=issued.yard.lead, decision=anew)
    assert told(client, pdf)["replaced_by"] == second.number
    assert second.number in send(client, pdf).text


def test_without_a_file_it_says_so_at_the_field(db: None, client: Client) -> None:
    response = client.post(reverse("check_file"), {"number": "7K3M"})
    assert response.status_code == 422
    assert "Choose the PDF file of the record." in response.text
    assert "4 characters came, 16 are wanted" in response.text
    assert 'value="7K3M"' in response.text
    answer = client.post(reverse("check_file_json"))
    assert (answer.status_code, answer.json()["status"]) == (422, "nothing_to_check")
    assert not SentFile.objects.exists()


def test_a_body_that_is_cut_off(db: None, client: Client) -> None:
    kind = "multipart/form-data; boundary=x"
    body = b'--x\r\nContent-Disposition: form-data; name="file"; filename="a.pdf"\r\n\r\n%PDF'
    for name in ("check_file", "check_file_json"):
        for data, how in ((body, kind), (b"--y", kind), (body, "multipart/form-data")):
            response = client.generic("POST", reverse(name), data, how)
            assert response.status_code in (200, 422)


def test_the_number_comes_along_from_the_page_of_the_record(issued: Issued, client: Client) -> None:
    address = f"{reverse('check_file')}?number={issued.record.number}"
    page = client.get(reverse("check_record", args=[issued.record.number]))
    assert address in page.text
    assert f'value="{issued.record.number}"' in client.get(address).text


def test_files_are_counted_and_stopped_for_a_while(issued: Issued, client: Client) -> None:
    def last(times: int, address: str = "203.0.113.7") -> Any:
        for _ in range(times):
            response = send(client, b"no PDF", REMOTE_ADDR=address)
        return response

    assert last(LIMIT).status_code == 200
    blocked = last(1)
    assert blocked.status_code == 429
    assert blocked["Retry-After"] == str(int(WINDOW.total_seconds()))
    assert "Wait 15 minutes" in blocked.text
    assert last(1, "203.0.113.8").status_code == 200
    # What was refused does not make the wait longer.
    assert SentFile.objects.count() == LIMIT + 1
    SentFile.objects.update(at=timezone.now() - WINDOW - timedelta(seconds=1))
    assert last(1).status_code == 200
    SentFile.objects.update(at=timezone.now() - timedelta(days=2))
    last(1)
    row = SentFile.objects.get()
    assert "203.0.113.7" not in f"{row.source} {row}"


@pytest.mark.parametrize("raised", [Busy("Send it again in a minute."), NotStarted("no python")])
def test_when_nothing_can_be_checked(
    issued: Issued, client: Client, monkeypatch: pytest.MonkeyPatch, raised: Exception
) -> None:
    def fail(*_: Any, **__: Any) -> Verdict:
        raise raised

    monkeypatch.setattr(check_file, "verify_apart", fail)
    response = send(client, file_of(issued.record))
    assert response.status_code == 503
    assert "Nothing was checked" in response.text
    assert GENUINE not in response.text
    assert told(client, b"")["status"] in ("busy", "not_now")


def test_every_sentence_of_a_verdict_has_its_step() -> None:
    """A sentence without a step would be told as one of the issuer's."""
    sentences = {
        text for name, text in vars(verdict).items() if name.isupper() and isinstance(text, str)
    }
    assert len(sentences) > 10
    assert {*sentences, limits.TOO_SLOW, limits.TOO_MANY_PAGES} <= set(steps.STEP_OF)
    assert set(steps.TO_DO) == set(steps.TITLES) == {*steps.STEP_OF.values(), steps.ASKED}


def test_steps_behind_a_fault_are_not_told_as_checked() -> None:
    found = steps.steps_of(steps.OFFLINE, steps.by_step([verdict.ALTERED]))
    assert [step.state for step in found] == [
        steps.GOOD,
        steps.GOOD,
        steps.WRONG,
        steps.NOT_CHECKED,
        steps.NOT_CHECKED,
    ]


def test_a_row_that_was_deleted_is_in_no_register(issued: Issued, client: Client) -> None:
    pdf = file_of(issued.record)
    with lifted("certificates_record"):
        Record.objects.all().delete()
    assert told(client, pdf)["faults"] == [steps.UNLISTED]
