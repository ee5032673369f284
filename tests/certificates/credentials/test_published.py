"""Credentials, keys and lists as they are published: checked as another system would."""

import json
from collections.abc import Callable
from dataclasses import dataclass
from datetime import timedelta
from typing import Any

import pytest
from django.core.management import call_command
from django.db import DatabaseError, IntegrityError, connection, transaction
from django.test import Client, override_settings
from django.urls import reverse
from django.utils import timezone

from certificates.actions import credentials as actions
from certificates.actions.credentials import make_credential
from certificates.credentials.multikey import from_multikey
from certificates.credentials.proofs import check_proof
from certificates.credentials.status_list import ENTRIES, PURPOSES, decode, is_set
from certificates.keys import credential_keys_of
from certificates.models import Credential, Record, WrongNumber
from certificates.numbers import new_number
from certificates.queries.standing import standing_of
from tests.certificates.builders import decide_attempt, met_decision, record_row
from tests.certificates.conftest import Issued
from tests.certificates.credentials.documents import record_document
from tests.certificates.credentials.test_achievement import SCHEMAS, schema_errors
from tests.certificates.status.builders import change, compromise, withdraw
from tests.certificates.status.conftest import Office
from tests.certificates.status.conftest import office as office  # the fixture
from tests.factories import make_organisation
from tests.triggers import lifted
from training.errors import Refused
from training.models import Organisation


@pytest.fixture
def base_url(settings: Any) -> str:
    """Return the public address of the server."""
    return str(settings.BASE_URL)


@dataclass(frozen=True)
class Outside:
    """Another system: it knows the addresses in a credential and nothing else."""

    client: Client
    base: str

    def get(self, address: str) -> dict[str, Any]:
        """Return the JSON at a public address."""
        assert address.startswith(self.base)
        response = self.client.get(address.removeprefix(self.base))
        assert response.status_code == 200, address
        assert response["Access-Control-Allow-Origin"] == "*"
        found: dict[str, Any] = json.loads(response.content)
        return found

    def trusted(self, document: dict[str, Any]) -> dict[str, Any]:
        """Return the document after checking its proof against its issuer's published keys."""
        issuer = document["issuer"]
        address = issuer if isinstance(issuer, str) else issuer["id"]
        controller = self.get(address)
        assert controller["id"] == address
        keys = {
            method["id"]: from_multikey(method["publicKeyMultibase"])
            for method in controller["verificationMethod"]
            if method["id"] in controller["assertionMethod"]
        }
        check_proof(document, keys)
        return document

    def accepts(self, credential: dict[str, Any]) -> bool:
        """Say whether the status of the credential lets it be accepted."""
        status = credential["credentialStatus"]
        listed = self.trusted(self.get(status["statusListCredential"]))
        assert listed["id"] == status["statusListCredential"]
        assert listed["credentialSubject"]["statusPurpose"] == status["statusPurpose"]
        bits = decode(listed["credentialSubject"]["encodedList"])
        return not is_set(bits, int(status["statusListIndex"]))


@pytest.fixture
def outside(client: Client, base_url: str) -> Outside:
    """Return another system that reads what is published."""
    return Outside(client, base_url)


def credential_of(record: Record) -> Credential:
    """Return the credential of a record, made now."""
    return make_credential(record=record, at=timezone.now())


def row(office: Office) -> Record:
    """Return a record in the register with a whole document, which nobody signed."""
    return record_row(met_decision(office.yard), document=record_document())


def bits_of(outside: Outside, record: Record) -> dict[str, bool]:
    """Return the bit of the record in each published list."""
    found = record.credential
    bits = {}
    for purpose in PURPOSES:
        args = [record.provider_id, purpose, found.list_number]
        listed = outside.get(f"{outside.base}{reverse('issuer_status', args=args)}")
        bits[purpose] = is_set(decode(listed["credentialSubject"]["encodedList"]), found.index)
    return bits


def test_another_system_checks_it_from_end_to_end(issued: Issued, outside: Outside) -> None:
    record = issued.record
    address = f"{outside.base}{reverse('check_credential', args=[record.number])}"
    credential = outside.trusted(outside.get(address))
    assert credential["id"] == address
    for name in SCHEMAS:
        assert schema_errors(credential, name) == []
    subject = credential["credentialSubject"]
    assert subject["identifier"][0]["identityHash"] == record.document["holder"]["name"]
    assert credential["validUntil"].startswith(record.document["valid_until"])
    assert outside.accepts(credential)
    # Asked again, in other letters, it is the same document.
    again = address.replace(record.number, record.number.lower().replace("-", "%20"))
    assert outside.get(again) == credential
    assert Credential.objects.count() == 1
    # Of a person, the holder's name alone.
    text = json.dumps(credential, ensure_ascii=False)
    for person in (issued.yard.trainee, issued.yard.lead, issued.yard.instructor):
        assert person.email not in text
    assert issued.yard.lead.full_name not in text
    assert issued.yard.instructor.full_name not in text


def test_pages_offer_it(issued: Issued, client: Client) -> None:
    address = reverse("check_credential", args=[issued.record.number])
    assert address in client.get(reverse("check_record", args=[issued.record.number])).text
    client.force_login(issued.yard.trainee, backend="django.contrib.auth.backends.ModelBackend")
    assert address in client.get(reverse("record_list")).text
    client.force_login(issued.yard.lead, backend="django.contrib.auth.backends.ModelBackend")
    assert address in client.get(reverse("record", args=[issued.record.number])).text


def test_how_it_is_sent(issued: Issued, client: Client) -> None:
    number = issued.record.number
    found = client.get(reverse("check_credential", args=[number]))
    assert found["Content-Type"] == "application/vc"
    assert found["Content-Disposition"] == f'attachment; filename="credential-{number}.json"'
    assert "no-store" in found["Cache-Control"]
    assert "noindex" in found["X-Robots-Tag"]
    args = [issued.record.provider_id, "suspension", 1]
    listed = client.get(reverse("issuer_status", args=args))
    assert listed["Content-Type"] == "application/vc"
    # As long as the list itself says (ttl).
    assert set(listed["Cache-Control"].split(", ")) == {"public", "max-age=300"}


def test_a_file_that_was_changed_gives_no_credential(issued: Issued, client: Client) -> None:
    credential_of(issued.record)
    issued.store(b"%PDF-1.7 something else")
    found = client.get(reverse("check_credential", args=[issued.record.number]))
    assert found.status_code == 503
    assert found.json()["status"] == "cannot_be_vouched_for"
    assert issued.yard.trainee.full_name not in found.text


def test_a_record_that_does_not_hold_gets_no_new_credential(issued: Issued, client: Client) -> None:
    change(issued.record, "suspended", issued.yard.lead)
    found = client.get(reverse("check_credential", args=[issued.record.number]))
    assert found.status_code == 404
    assert found.json()["status"] == "suspended"
    assert found.json()["detail"] == "This record is suspended: no credential is made of it."
    assert not Credential.objects.exists()


def test_without_a_passphrase_it_says_that_it_cannot_sign(
    issued: Issued, client: Client, caplog: Any
) -> None:
    address = reverse("check_credential", args=[issued.record.number])
    with override_settings(KEY_PASSPHRASE=""):
        found = client.get(address)
    assert found.status_code == 503
    assert "cannot be used on this server" in found.json()["detail"]
    assert "BANKERMARK_KEY_PASSPHRASE" in caplog.text
    assert client.get(address).status_code == 200
    with override_settings(KEY_PASSPHRASE=""):
        # What was signed can be given, and the keys be told; a list needs a new signature.
        assert client.get(address).status_code == 200
        provider = issued.record.provider_id
        assert client.get(reverse("issuer_controller", args=[provider])).status_code == 200
        listed = client.get(reverse("issuer_status", args=[provider, "suspension", 1]))
        assert listed.status_code == 503


def test_numbers_that_are_none(db: None, client: Client) -> None:
    found = client.get(reverse("check_credential", args=["nonsense"]))
    assert (found.status_code, found.json()["status"]) == (404, "not_a_number")
    assert not WrongNumber.objects.exists()
    found = client.get(reverse("check_credential", args=[new_number()]))
    assert (found.status_code, found.json()["status"]) == (404, "unknown")
    assert WrongNumber.objects.count() == 1


def test_what_is_not_there_is_not_found(office: Office, client: Client) -> None:
    provider = office.yard.provider.pk
    assert client.get(reverse("issuer_controller", args=[provider])).status_code == 404
    credential_of(row(office))
    assert client.get(reverse("issuer_controller", args=[provider])).status_code == 200
    for args in (
        [provider, "suspension", 2],
        [provider, "message", 1],
        [provider + 99, "suspension", 1],
    ):
        assert client.get(reverse("issuer_status", args=args)).status_code == 404, args


def _suspend(office: Office, record: Record) -> None:
    change(record, "suspended", office.lead)


def _restore(office: Office, record: Record) -> None:
    change(record, "suspended", office.lead)
    change(record, "restored", office.lead)


def _withdraw(office: Office, record: Record) -> None:
    withdraw(record, office.lead, office.second)


def _compromise(office: Office, record: Record) -> None:
    compromise(record, office.lead)


def _replace(office: Office, record: Record) -> None:
    record_row(record.decision, replaces=record)


def _decide_anew(office: Office, record: Record) -> None:
    decide_attempt(record.decision.attempt, office.yard.instructor, replaces=record.decision)


def _lapse(office: Office, record: Record) -> None:
    with lifted("certificates_record"), connection.cursor() as cursor:
        cursor.execute("UPDATE certificates_record SET valid_until = '2020-01-01'")


def _nothing(office: Office, record: Record) -> None:
    pass


@pytest.mark.parametrize(
    ("happens", "word", "suspension", "revocation"),
    [
        (_nothing, "current", False, False),
        (_suspend, "suspended", True, False),
        (_restore, "current", False, False),
        (_compromise, "doubtful", True, False),
        (_withdraw, "withdrawn", True, True),
        (_replace, "replaced", True, True),
        (_decide_anew, "withdrawn", True, True),
        (_lapse, "lapsed", False, False),
    ],
)
def test_the_lists_say_what_every_page_says(
    office: Office,
    outside: Outside,
    happens: Callable[[Office, Record], None],
    word: str,
    suspension: bool,
    revocation: bool,
) -> None:
    record, other = row(office), row(office)
    credential, beside = credential_of(record), credential_of(other)
    assert outside.accepts(credential.document)
    happens(office, record)
    record = Record.objects.get(pk=record.pk)
    assert standing_of(record).word == word
    assert bits_of(outside, record) == {"suspension": suspension, "revocation": revocation}
    assert outside.accepts(credential.document) is not suspension
    assert outside.accepts(beside.document)


def test_a_list_asks_the_database_as_often_for_three_as_for_one(
    office: Office, client: Client, django_assert_num_queries: Any
) -> None:
    record = row(office)
    credential_of(record)
    change(record, "suspended", office.lead)
    address = reverse("issuer_status", args=[record.provider_id, "suspension", 1])
    # Provider, list, records, their changes, their doubts.
    with django_assert_num_queries(5):
        client.get(address)
    for _ in range(2):
        more = row(office)
        credential_of(more)
        change(more, "suspended", office.lead)
    with django_assert_num_queries(5):
        client.get(address)


def test_places_are_drawn_until_one_is_free(
    office: Office, monkeypatch: pytest.MonkeyPatch
) -> None:
    first, second = row(office), row(office)
    drawn = iter([5, 5, 5, 7])
    monkeypatch.setattr("secrets.randbelow", lambda below: next(drawn))
    assert (credential_of(first).list_number, credential_of(first).index) == (1, 5)
    assert credential_of(second).index == 7
    assert list(drawn) == []


def test_a_list_that_is_half_full_is_left(
    office: Office, outside: Outside, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(actions, "FULL", 2)
    records = [row(office) for _ in range(5)]
    found = [credential_of(record) for record in records]
    assert [credential.list_number for credential in found] == [1, 1, 2, 2, 3]
    assert all(0 <= credential.index < ENTRIES for credential in found)
    change(records[4], "suspended", office.lead)
    assert [outside.accepts(credential.document) for credential in found] == [True] * 4 + [False]


def test_after_a_rotation_old_and_new_credentials_hold(
    office: Office, outside: Outside, capsys: pytest.CaptureFixture[str]
) -> None:
    old = credential_of(row(office))
    call_command("rotate_credential_key")
    new = credential_of(row(office))
    methods = [found.document["proof"][0]["verificationMethod"] for found in (old, new)]
    assert methods[0] != methods[1]
    assert methods[1].partition("#")[2] in capsys.readouterr().out
    for found in (old, new):
        outside.trusted(found.document)
        assert outside.accepts(found.document)
    assert len(credential_keys_of(office.yard.provider).public()) == 2


def test_a_credential_is_kept_as_it_was_made(office: Office) -> None:
    credential = credential_of(row(office))
    for write in (
        lambda: Credential.objects.update(index=1),
        credential.delete,
    ):
        with pytest.raises(DatabaseError, match="append-only"), transaction.atomic():
            write()


@pytest.mark.parametrize(
    ("fields", "constraint"),
    [
        ({"index": ENTRIES}, "credential_index_in_list"),
        ({"list_number": 0}, "credential_list_from_one"),
        ({"provider": None}, "credential_of_the_issuer"),
    ],
)
def test_the_database_holds_where_it_stands(
    office: Office, fields: dict[str, Any], constraint: str
) -> None:
    record = row(office)
    if "provider" in fields:
        fields = {"provider": make_organisation(Organisation.Kind.PROVIDER)}
    values = {"provider": record.provider, "list_number": 1, "index": 0, "document": {}}
    with pytest.raises(IntegrityError) as raised, transaction.atomic():
        Credential.objects.create(record=record, **{**values, **fields})
    diagnostics = raised.value.__cause__.diag  # type: ignore[union-attr]
    assert diagnostics.constraint_name == constraint


def test_a_withdrawn_record_keeps_the_credential_it_has(office: Office) -> None:
    record = row(office)
    made = credential_of(record)
    withdraw(record, office.lead, office.second)
    later = make_credential(
        record=Record.objects.get(pk=record.pk), at=timezone.now() + timedelta(days=1)
    )
    assert later == made
    other = row(office)
    withdraw(other, office.lead, office.second)
    with pytest.raises(Refused, match="This record is withdrawn"):
        credential_of(Record.objects.get(pk=other.pk))
