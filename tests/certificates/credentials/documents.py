"""A record document with what a credential is made of; invented."""

from typing import Any

from certificates.credentials.achievement import Places

BASE = "https://records.example.org"
PLACES = Places(
    credential=f"{BASE}/check/7K3M-9QX2-04VD-HT8B/credential.json",
    check=f"{BASE}/check/7K3M-9QX2-04VD-HT8B/",
    issuer=f"{BASE}/issuers/1/controller.json",
    status_list=f"{BASE}/issuers/1/status/suspension-1.json",
    index=94_567,
)


def record_document(**changes: Any) -> dict[str, Any]:
    """Return the parts of a record that are told, with ``changes``."""
    return {
        "schema": "bankermark/record/1",
        "number": "7K3M-9QX2-04VD-HT8B",
        "issuer": {"name": "Ashlar Row Training Yard", "address": "4 Ashlar Row, Port Ellery"},
        "holder": {"name": "Inès Quarrington"},
        "program": {
            "code": "DUT-2",
            "version": 3,
            "title": "Dutchman repair",
            "scope": "Dutchman repairs up to 12 in by 8 in in sandstone.",
        },
        "course_run": {
            "site": "Fennimore Customs House",
            "starts_on": "2026-10-26",
            "ends_on": "2026-11-06",
        },
        "conditions": [{"name": "Stone", "value": "sandstone"}, {"name": "Light", "value": "day"}],
        "outcomes": [
            {"key": "O1", "statement": "Sets out", "result": "met", "score": "5/6"},
            {"key": "O2", "statement": "Cuts", "result": "not_met", "score": "0.5"},
            {"key": "O3", "statement": "Points", "result": "no_minimum", "score": "1"},
            {"key": "O 4#", "statement": "Cleans", "result": "no_minimum", "score": None},
        ],
        "result": "met",
        "decided_at": "2026-11-07T10:00:00-05:00",
        "assessors": [{"id": "7", "name": "Tomasz Wieland"}],
        "standard": {
            "outcomes": [
                {"key": "O1", "statement": "Sets out", "minimum": "0.6"},
                {"key": "O2", "statement": "Cuts", "minimum": "0.7"},
                {"key": "O3", "statement": "Points", "minimum": None},
                {"key": "O 4#", "statement": "Cleans", "minimum": None},
            ]
        },
        "standard_digest": "ab" * 32,
        "sealed_at": "2026-10-20T09:00:00-04:00",
        "sealed_by": "Odile Brandreth",
        "issued_at": "2026-11-10T10:00:00-05:00",
        "valid_until": "2029-07-10",
        "check_url": PLACES.check,
        "replaces": None,
        **changes,
    }
