"""A credential says what the record says: field by field, and no more of a person.

The schemas are the publishers' own (tests/reference/data/README.md).
"""

import json
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey
from jsonschema import Draft202012Validator

from certificates.credentials.achievement import credential
from certificates.credentials.controller import controller_document, method_address
from certificates.credentials.proofs import check_proof, with_proof
from tests.certificates.credentials.documents import BASE, PLACES, record_document

DATA = Path(__file__).parents[2] / "reference" / "data"
SCHEMAS = ("open_badges_v3.schema.json", "verifiable_credential_v2.schema.json")
ZONE = ZoneInfo("America/New_York")
MADE = datetime(2026, 11, 10, 10, 0, tzinfo=ZONE)


def schema_errors(document: dict[str, Any], name: str) -> list[str]:
    """Return what a published schema says is wrong."""
    schema = json.loads((DATA / name).read_text())
    validator = Draft202012Validator(schema, format_checker=Draft202012Validator.FORMAT_CHECKER)
    return [f"{error.json_path}: {error.message}" for error in validator.iter_errors(document)]


def made(**changes: Any) -> dict[str, Any]:
    """Return the unsigned credential of a record."""
    return credential(record_document(**changes), PLACES, zone=ZONE)


def signed(document: dict[str, Any]) -> dict[str, Any]:
    """Return the document with a proof."""
    key = Ed25519PrivateKey.generate()
    method = method_address(PLACES.issuer, key.public_key())
    found = with_proof(document, key=key, verification_method=method, created=MADE)
    assert check_proof(found, {method: key.public_key()}) == method
    return found


@pytest.mark.parametrize("name", SCHEMAS)
@pytest.mark.parametrize(
    "changes",
    [
        {},
        {"valid_until": None, "conditions": []},
        {"issuer": {"name": "Ashlar Row Training Yard", "address": ""}},
    ],
)
def test_it_conforms_to_the_published_schemas(name: str, changes: dict[str, Any]) -> None:
    assert schema_errors(signed(made(**changes)), name) == []


@pytest.mark.parametrize(
    ("broken", "name"),
    [
        ({"validFrom": None}, SCHEMAS[0]),
        ({"validFrom": "10 November 2026"}, SCHEMAS[1]),
        ({"issuer": {"name": "Ashlar Row Training Yard"}}, SCHEMAS[0]),
        ({"type": ["OpenBadgeCredential"]}, SCHEMAS[1]),
        # Open Badges 3.0 takes one status, where Verifiable Credentials 2.0 takes several.
        ({"credentialStatus": [{"id": "a", "type": "b"}]}, SCHEMAS[0]),
    ],
)
def test_the_schemas_refuse_what_does_not_conform(broken: dict[str, Any], name: str) -> None:
    assert schema_errors({**made(), **broken}, name)


def test_every_fact_is_that_of_the_record() -> None:
    record, found = record_document(), made()
    subject = found["credentialSubject"]
    achievement = subject["achievement"]
    assert found["id"] == PLACES.credential
    assert found["name"] == achievement["name"] == record["program"]["title"]
    assert found["issuer"] == {
        "id": PLACES.issuer,
        "type": ["Profile"],
        "name": record["issuer"]["name"],
        "address": {"type": ["Address"], "streetAddress": record["issuer"]["address"]},
    }
    assert found["validFrom"] == record["issued_at"]
    assert found["awardedDate"] == record["decided_at"]
    assert found["description"] == (
        "Record 7K3M-9QX2-04VD-HT8B: Inès Quarrington met the passing standard of Dutchman repair "
        "(DUT-2, version 3)."
    )
    assert found["evidence"][0]["id"] == record["check_url"]
    assert subject["identifier"] == [
        {
            "type": "IdentityObject",
            "hashed": False,
            "identityHash": record["holder"]["name"],
            "identityType": "name",
        }
    ]
    assert subject["narrative"] == (
        "Taught at Fennimore Customs House.\nAssessed under:\n- Stone: sandstone\n- Light: day"
    )
    assert achievement["humanCode"] == record["program"]["code"]
    assert achievement["version"] == "3"
    assert achievement["description"] == record["program"]["scope"]
    assert record["standard_digest"] in achievement["criteria"]["narrative"]
    assert record["sealed_at"] in achievement["criteria"]["narrative"]


def test_the_outcomes_are_those_of_the_record() -> None:
    subject = made()["credentialSubject"]
    described = {found["id"]: found for found in subject["achievement"]["resultDescription"]}
    assert len(described) == 4
    told = [
        (
            described[result["resultDescription"]]["name"],
            described[result["resultDescription"]].get("requiredValue"),
            result.get("value"),
            result.get("status"),
        )
        for result in subject["result"]
    ]
    assert told == [
        ("O1 Sets out", "0.6", "5/6", "Completed"),
        ("O2 Cuts", "0.7", "0.5", "Failed"),
        ("O3 Points", None, "1", None),
        ("O 4# Cleans", None, None, None),
    ]


def test_days_begin_and_end_by_the_time_of_the_site() -> None:
    """In July New York is four hours behind, in November five; the last day still counts."""
    found = made()
    assert found["validUntil"] == "2029-07-10T23:59:59-04:00"
    assert found["credentialSubject"]["activityStartDate"] == "2026-10-26T00:00:00-04:00"
    assert found["credentialSubject"]["activityEndDate"] == "2026-11-06T23:59:59-05:00"
    until = datetime.fromisoformat(found["validUntil"]) + timedelta(seconds=1)
    assert until == datetime(2029, 7, 11, tzinfo=ZONE)
    assert "validUntil" not in made(valid_until=None)


def test_a_record_in_the_place_of_another_says_so() -> None:
    found = made(replaces="04VD-HT8B-7K3M-9QX2")
    assert found["description"].endswith("It takes the place of record 04VD-HT8B-7K3M-9QX2.")


def test_of_a_person_it_tells_the_holders_name_alone() -> None:
    text = json.dumps(made(), ensure_ascii=False)
    assert text.count("Inès Quarrington") == 2
    for name in ("Tomasz Wieland", "Odile Brandreth", "@example", "certified"):
        assert name not in text.replace("@context", "")


def test_one_status_that_says_not_to_accept_it_for_now() -> None:
    assert made()["credentialStatus"] == {
        "id": f"{BASE}/issuers/1/status/suspension-1.json#94567",
        "type": "BitstringStatusListEntry",
        "statusPurpose": "suspension",
        "statusListIndex": "94567",
        "statusListCredential": f"{BASE}/issuers/1/status/suspension-1.json",
    }


def test_the_same_standard_is_the_same_achievement() -> None:
    def name(**changes: Any) -> str:
        return str(made(**changes)["credentialSubject"]["achievement"]["id"])

    assert name() == name(holder={"name": "Rhoswen Quillon"})
    assert name() != name(standard_digest="ac" * 32)


def test_the_controller_document_lets_each_key_assert() -> None:
    """Controlled Identifiers v1.0, sections 2.2 (verification methods) and 2.3.2 (assertion)."""
    keys = [Ed25519PrivateKey.generate().public_key() for _ in range(2)]
    found = controller_document(PLACES.issuer, keys)
    assert found["id"] == PLACES.issuer
    methods = found["verificationMethod"]
    assert found["assertionMethod"] == [method["id"] for method in methods]
    for method, key in zip(methods, keys, strict=True):
        assert method["type"] == "Multikey"
        assert method["controller"] == PLACES.issuer
        assert method["publicKeyMultibase"].startswith("z6Mk")
        assert method["id"] == method_address(PLACES.issuer, key)
