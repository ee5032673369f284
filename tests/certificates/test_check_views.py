"""Checking a record by its number, as anybody may."""

import hashlib
import json
from collections.abc import Callable
from datetime import timedelta
from typing import Any

import pytest
from django.conf import settings
from django.core.files.storage import default_storage
from django.db import connection
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from certificates.actions.guesses import LIMIT, WINDOW
from certificates.actions.issue import issue_record
from certificates.keys import keystore_of
from certificates.models import Record, WrongNumber
from certificates.numbers import new_number
from certificates.rendering import render
from certificates.signing import sign
from tests.assessments.builders import make_yard
from tests.certificates.builders import decide_attempt, file_of, met_decision, record_row
from tests.certificates.conftest import Issued
from tests.triggers import lifted
from training.digests import digest

GENUINE = "This record is genuine and holds today"
NOT_TODAY = "This record is genuine, but does not hold today"
NOT_VOUCHED = "This record cannot be vouched for"


def page_of(client: Client, record: Record, status: int = 200) -> str:
    """Return the text of the page of a record."""
    response = client.get(reverse("check_record", args=[record.number]))
    assert response.status_code == status
    return response.text


def json_of(client: Client, record: Record) -> dict[str, Any]:
    """Return what a program reads about a record."""
    response = client.get(reverse("check_record_json", args=[record.number]))
    found: dict[str, Any] = response.json()
    return found


def test_anybody_learns_what_the_paper_says(issued: Issued, client: Client) -> None:
    text = page_of(client, issued.record)
    document = issued.record.document
    assert GENUINE in text
    for told in (
        issued.yard.trainee.full_name,
        document["program"]["title"],
        document["program"]["scope"],
        document["issuer"]["name"],
        document["standard_digest"],
        "Sets a dutchman",
        f"{issued.record.valid_until:%-d %B %Y}",
        "the person before you is the holder",
    ):
        assert told in text, told


def test_nothing_more_of_a_person_than_the_paper(issued: Issued, client: Client) -> None:
    yard = issued.yard
    address = reverse("check_record_json", args=[issued.record.number])
    for text in (page_of(client, issued.record), client.get(address).text):
        for person in (yard.trainee, yard.lead, yard.instructor):
            assert person.email not in text
        assert yard.lead.full_name not in text
        assert str(issued.decision.attempt_id) not in text
        assert str(yard.enrolment.pk) not in text
        assert "example.org" not in text


def test_no_page_says_that_a_person_is_certified(issued: Issued, client: Client) -> None:
    pages = [page_of(client, issued.record), client.get(reverse("check")).text]
    for text in pages:
        assert "certified" not in text.lower()
        assert text.lower().count("certification") == text.count("not certification of a person")


def test_the_same_for_a_program(issued: Issued, client: Client) -> None:
    found = json_of(client, issued.record)
    assert found["schema"] == "bankermark/check/1"
    assert (found["status"], found["genuine"], found["counts_today"]) == ("current", True, True)
    assert found["faults"] == []
    assert found["record"]["holder"] == {"name": issued.yard.trainee.full_name}
    assert found["record"]["valid_until"] == issued.record.valid_until.isoformat()  # type: ignore[union-attr]
    assert set(found["record"]["outcomes"][0]) == {"key", "statement", "result", "score"}
    assert "assessors" not in json.dumps(found)


def test_it_is_kept_out_of_caches_and_search_engines(issued: Issued, client: Client) -> None:
    for name in ("check_record", "check_record_json"):
        response = client.get(reverse(name, args=[issued.record.number]))
        assert "no-store" in response["Cache-Control"]
        assert "noindex" in response["X-Robots-Tag"]
    assert '<meta name="robots" content="noindex' in page_of(client, issued.record)


@pytest.mark.parametrize("change", [str.lower, lambda number: number.replace("-", " ")])
def test_a_number_is_understood_as_it_is_typed(
    issued: Issued, client: Client, change: Callable[[str], str]
) -> None:
    typed = change(issued.record.number)
    canonical = reverse("check_record", args=[issued.record.number])
    response = client.get(reverse("check"), {"number": typed})
    assert response["Location"] == canonical
    assert client.get(reverse("check_record", args=[typed]))["Location"] == canonical
    assert client.get(reverse("check_record_json", args=[typed])).json()["genuine"]


def test_what_is_no_number_is_said_at_the_field(db: None, client: Client) -> None:
    response = client.get(reverse("check"), {"number": "7K3M-9QX2-04VD"})
    assert response.status_code == 422
    assert "12 characters came, 16 are wanted" in response.text
    assert "7K3M-9QX2-04VD" in response.text
    assert client.get(reverse("check_record", args=["nonsense"])).status_code == 404
    found = client.get(reverse("check_record_json", args=["nonsense"]))
    assert (found.status_code, found.json()["status"]) == (404, "not_a_number")
    assert not WrongNumber.objects.exists()


def test_an_unknown_number(db: None, client: Client) -> None:
    number = new_number()
    response = client.get(reverse("check_record", args=[number]))
    assert response.status_code == 404
    assert "No such record is known here" in response.text
    assert client.get(reverse("check_record_json", args=[number])).json()["status"] == "unknown"


def test_a_lapsed_record(issued: Issued, client: Client, monkeypatch: pytest.MonkeyPatch) -> None:
    last = issued.record.valid_until
    assert last is not None
    real = timezone.localdate
    monkeypatch.setattr(timezone, "localdate", lambda *_, **__: last)
    assert GENUINE in page_of(client, issued.record)
    assert json_of(client, issued.record)["status"] == "lapses_soon"
    monkeypatch.setattr(timezone, "localdate", lambda *_, **__: last + timedelta(days=1))
    text = page_of(client, issued.record)
    assert NOT_TODAY in text
    assert f"the record lapsed at the end of {last:%-d %B %Y}" in text
    assert json_of(client, issued.record)["status"] == "lapsed"
    assert real() < last


def test_a_replaced_record_names_its_successor(issued: Issued, client: Client) -> None:
    anew = decide_attempt(
        issued.decision.attempt,
        issued.yard.instructor,
        replaces=issued.decision,
        C1={"level": 1},
    )
    assert NOT_TODAY in page_of(client, issued.record)
    assert json_of(client, issued.record)["status"] == "withdrawn"
    second = issue_record(actor=issued.yard.lead, decision=anew)
    text = page_of(client, issued.record)
    assert NOT_TODAY in text
    assert reverse("check_record", args=[second.number]) in text
    assert json_of(client, issued.record)["replaced_by"] == second.number
    assert GENUINE in page_of(client, second)


def other_bytes(issued: Issued) -> bytes:
    """Return the file with one byte changed in the middle."""
    pdf = bytearray(file_of(issued.record))
    pdf[len(pdf) // 2] ^= 1
    return bytes(pdf)


def appended(issued: Issued) -> bytes:
    """Return the file with something added at its end."""
    return bytes(file_of(issued.record)) + b"\n%%EOF\n"


def unsigned(issued: Issued) -> bytes:
    """Return the same record rendered anew, without a signature."""
    return render(issued.record.document, paper="letter")


@pytest.mark.parametrize("forge", [other_bytes, appended, unsigned, lambda _: b""])
def test_a_changed_file_is_neither_vouched_for_nor_given_out(
    issued: Issued, client: Client, forge: Callable[[Issued], bytes], caplog: Any
) -> None:
    issued.store(forge(issued))
    text = page_of(client, issued.record)
    assert NOT_VOUCHED in text
    assert issued.yard.trainee.full_name not in text
    assert json_of(client, issued.record)["status"] == "cannot_be_vouched_for"
    client.force_login(issued.yard.trainee)
    response = client.get(reverse("record_pdf", args=[issued.record.number]))
    assert response.status_code == 503
    assert response["Content-Type"].startswith("text/html")
    assert "not the one that was issued" in response.text
    assert any(issued.record.number in entry.getMessage() for entry in caplog.records)


def test_a_missing_file(issued: Issued, client: Client) -> None:
    default_storage.delete(issued.record.pdf.name or "")
    assert NOT_VOUCHED in page_of(client, issued.record)
    client.force_login(issued.yard.lead)
    response = client.get(reverse("record_pdf", args=[issued.record.number]))
    assert response.status_code == 503
    assert "cannot be read from the storage" in response.text


def rewrite(record: Record, **columns: str) -> None:
    """Change columns of the row, past its guard."""
    with lifted("certificates_record"), connection.cursor() as cursor:
        for name, value in columns.items():
            cursor.execute(f"UPDATE certificates_record SET {name} = %s", [value])


def test_a_row_that_was_changed_past_the_guards(issued: Issued, client: Client) -> None:
    # The file is as issued; somebody with the database's password prolonged the row.
    rewrite(issued.record, valid_until="2099-12-31")
    text = page_of(client, issued.record)
    assert NOT_VOUCHED in text
    assert "not the one in the issuer&#x27;s register" in text


def test_a_forged_file_and_a_row_that_goes_with_it(issued: Issued, client: Client) -> None:
    # The forger writes the file and the row's digests, but has another issuer's key.
    other = make_yard()
    forged = sign(
        render({**issued.record.document, "holder": {"name": "Gaspar Untold"}}, paper="letter"),
        keystore_of(other.provider),
        signing_time=issued.record.issued_at,
        reason="Record",
        location="Yard",
    )
    issued.store(forged)
    rewrite(issued.record, pdf_sha256=hashlib.sha256(forged).hexdigest())
    text = page_of(client, issued.record)
    assert NOT_VOUCHED in text
    assert "an issuer that is not known here" in text
    assert "Gaspar Untold" not in text


def test_the_issuers_own_signature_under_another_record(issued: Issued, client: Client) -> None:
    # A genuine file of the same issuer, put in the place of another one.
    yard = issued.yard
    second = issue_record(actor=yard.lead, decision=decide_attempt(yard.attempt(), yard.instructor))
    pdf = file_of(second)
    issued.store(pdf)
    with lifted("certificates_record"), connection.cursor() as cursor:
        cursor.execute("UPDATE certificates_record SET pdf_sha256 = md5(id::text) || md5(number)")
        cursor.execute(
            "UPDATE certificates_record SET pdf_sha256 = %s WHERE number = %s",
            [second.pdf_sha256, issued.record.number],
        )
    assert NOT_VOUCHED in page_of(client, issued.record)


def test_without_the_issuers_root_nothing_is_vouched_for(issued: Issued, client: Client) -> None:
    for path in (settings.KEY_FOLDER / f"provider-{issued.yard.provider.pk}").glob("root-*"):
        path.unlink()
    assert NOT_VOUCHED in page_of(client, issued.record)


def test_the_root_is_there_for_who_checks_without_this_server(
    issued: Issued, client: Client
) -> None:
    address = reverse("check_root", args=[issued.yard.provider.pk])
    assert address in page_of(client, issued.record)
    response = client.get(address)
    assert response.content == keystore_of(issued.yard.provider).roots_pem()
    assert response.content.startswith(b"-----BEGIN CERTIFICATE-----")
    assert b"PRIVATE" not in response.content
    other = make_yard().provider
    for unknown in (other.pk, 10**9):
        assert client.get(reverse("check_root", args=[unknown])).status_code == 404


def guess(client: Client, times: int, address: str = "203.0.113.7") -> int:
    """Try numbers that do not exist; return the status of the last answer."""
    status = 0
    for _ in range(times):
        response = client.get(reverse("check_record", args=[new_number()]), REMOTE_ADDR=address)
        status = response.status_code
    return status


def test_guessing_is_stopped_for_a_while(issued: Issued, client: Client) -> None:
    assert guess(client, LIMIT) == 404
    address = reverse("check_record", args=[issued.record.number])
    blocked = client.get(address, REMOTE_ADDR="203.0.113.7")
    assert blocked.status_code == 429
    assert blocked["Retry-After"] == str(int(WINDOW.total_seconds()))
    assert GENUINE not in blocked.text
    as_data = reverse("check_record_json", args=[issued.record.number])
    assert client.get(as_data, REMOTE_ADDR="203.0.113.7").status_code == 429
    # Others go on as before.
    assert client.get(address, REMOTE_ADDR="203.0.113.8").status_code == 200
    long_ago = timezone.now() - WINDOW - timedelta(seconds=1)
    WrongNumber.objects.update(at=long_ago)
    assert client.get(address, REMOTE_ADDR="203.0.113.7").status_code == 200


def test_ipv6_addresses_of_one_network_are_counted_together(db: None, client: Client) -> None:
    # RFC 3849 addresses; a /64 is what one customer is given (RFC 6177).
    for number in range(LIMIT):
        guess(client, 1, f"2001:db8:7:1::{number:x}")
    assert guess(client, 1, "2001:db8:7:1:ffff::1") == 429
    assert guess(client, 1, "2001:db8:7:2::1") == 404


def test_genuine_checks_are_not_counted_and_no_address_is_kept(
    issued: Issued, client: Client
) -> None:
    for _ in range(2):
        page_of(client, issued.record)
    assert not WrongNumber.objects.exists()
    guess(client, 1)
    row = WrongNumber.objects.get()
    assert "203.0.113.7" not in f"{row.source} {row}"
    WrongNumber.objects.update(at=timezone.now() - timedelta(days=2))
    guess(client, 1)
    assert WrongNumber.objects.count() == 1


def test_the_digest_shown_is_that_of_the_standard(issued: Issued, client: Client) -> None:
    assert digest(issued.yard.standard.document) in page_of(client, issued.record)


def test_the_list_asks_the_database_as_often_for_three_as_for_one(
    issued: Issued, client: Client, django_assert_num_queries: Any
) -> None:
    yard = issued.yard
    client.force_login(yard.lead)
    address = reverse("record_list")
    # Session, person, roles, count, records, navigation.
    with django_assert_num_queries(8):
        assert client.get(address).text.count("<tr>") == 1 + 1
    for _ in range(2):
        record_row(met_decision(yard))
    with django_assert_num_queries(8):
        assert client.get(address).text.count("<tr>") == 1 + 3


def test_the_list_finds_a_holder(issued: Issued, client: Client) -> None:
    client.force_login(issued.yard.lead)
    address = reverse("record_list")
    name = issued.yard.trainee.full_name
    assert issued.record.number in client.get(address, {"holder": name[2:].upper()}).text
    nobody = client.get(address, {"holder": "Zz%_<b>\0"})
    assert issued.record.number not in nobody.text
    assert "No record of such a holder" in nobody.text
    assert "Zz%_&lt;b&gt;" in nobody.text
