"""A record as an unsigned Open Badges 3.0 credential, by Verifiable Credentials 2.0.

https://www.imsglobal.org/spec/ob/v3p0/ and https://www.w3.org/TR/vc-data-model-2.0/. Every fact
is one of the record, and of those only what the public check page tells: of a person the
holder's name, nothing else.
"""

import base64
from dataclasses import dataclass
from datetime import date, datetime, time
from typing import Any
from urllib.parse import quote
from zoneinfo import ZoneInfo

from certificates.credentials.status_list import SUSPENSION, entry

CONTEXTS = [
    "https://www.w3.org/ns/credentials/v2",
    "https://purl.imsglobal.org/spec/ob/v3p0/context-3.0.3.json",
]
LAST_SECOND = time(23, 59, 59)
STATUSES = {"met": "Completed", "not_met": "Failed"}


@dataclass(frozen=True)
class Places:
    """The public addresses that a credential names, and its index in the status list."""

    credential: str
    check: str
    issuer: str
    status_list: str
    index: int


def credential(record: dict[str, Any], places: Places, *, zone: ZoneInfo) -> dict[str, Any]:
    """Return the credential of ``record``, a ``bankermark/record/1`` document, without a proof.

    ``zone`` is that of the site: the record's days begin and end by it. Open Badges 3.0 lets a
    credential name one status. It is the reversible one, which says that the credential is not
    to be accepted for now, whatever the reason: suspended, in doubt, withdrawn or replaced.
    """
    found = {
        "@context": CONTEXTS,
        "id": places.credential,
        "type": ["VerifiableCredential", "OpenBadgeCredential"],
        "name": record["program"]["title"],
        "description": _description(record),
        "issuer": _issuer(record["issuer"], places.issuer),
        "awardedDate": record["decided_at"],
        "validFrom": record["issued_at"],
        "credentialSubject": _subject(record, zone),
        "evidence": [
            {
                "id": places.check,
                "type": ["Evidence"],
                "name": f"Record {record['number']}",
                "description": "Says whether the record is genuine and holds today.",
            }
        ],
        "credentialStatus": entry(places.status_list, purpose=SUSPENSION, index=places.index),
    }
    if record["valid_until"] is not None:
        found["validUntil"] = _instant(record["valid_until"], LAST_SECOND, zone)
    return found


def _description(record: dict[str, Any]) -> str:
    program = record["program"]
    sentence = (
        f"Record {record['number']}: {record['holder']['name']} met the passing standard of "
        f"{program['title']} ({program['code']}, version {program['version']})."
    )
    if record["replaces"]:
        sentence += f" It takes the place of record {record['replaces']}."
    return sentence


def _issuer(issuer: dict[str, str], address: str) -> dict[str, Any]:
    profile: dict[str, Any] = {"id": address, "type": ["Profile"], "name": issuer["name"]}
    if issuer["address"]:
        profile["address"] = {"type": ["Address"], "streetAddress": issuer["address"]}
    return profile


def _subject(record: dict[str, Any], zone: ZoneInfo) -> dict[str, Any]:
    run = record["course_run"]
    achievement = standard_address(record["standard_digest"])
    return {
        "type": ["AchievementSubject"],
        "identifier": [
            {
                "type": "IdentityObject",
                "hashed": False,
                "identityHash": record["holder"]["name"],
                "identityType": "name",
            }
        ],
        "activityStartDate": _instant(run["starts_on"], time.min, zone),
        "activityEndDate": _instant(run["ends_on"], LAST_SECOND, zone),
        "narrative": _narrative(record),
        "achievement": _achievement(record, achievement),
        "result": [_result(outcome, achievement) for outcome in record["outcomes"]],
    }


def _narrative(record: dict[str, Any]) -> str:
    lines = [f"Taught at {record['course_run']['site']}."]
    if record["conditions"]:
        lines.append("Assessed under:")
        lines += [f"- {found['name']}: {found['value']}" for found in record["conditions"]]
    return "\n".join(lines)


def _achievement(record: dict[str, Any], address: str) -> dict[str, Any]:
    program = record["program"]
    minima = {found["key"]: found["minimum"] for found in record["standard"]["outcomes"]}
    return {
        "id": address,
        "type": ["Achievement"],
        "achievementType": "Assessment",
        "name": program["title"],
        "humanCode": program["code"],
        "version": str(program["version"]),
        "description": program["scope"] or program["title"],
        "criteria": {
            "narrative": (
                f"The passing standard that was sealed on {record['sealed_at']}, before the "
                f"assessment began. Its digest (SHA-256): {record['standard_digest']}"
            )
        },
        "resultDescription": [
            _result_description(outcome, address, minima.get(outcome["key"]))
            for outcome in record["outcomes"]
        ],
    }


def _result_description(
    outcome: dict[str, Any], achievement: str, minimum: str | None
) -> dict[str, Any]:
    described = {
        "id": _outcome_address(achievement, outcome["key"]),
        "type": ["ResultDescription"],
        "name": f"{outcome['key']} {outcome['statement']}",
        "resultType": "RawScore",
        "valueMin": "0",
        "valueMax": "1",
    }
    if minimum is not None:
        described["requiredValue"] = minimum
    return described


def _result(outcome: dict[str, Any], achievement: str) -> dict[str, Any]:
    found = {
        "type": ["Result"],
        "resultDescription": _outcome_address(achievement, outcome["key"]),
    }
    if outcome["score"] is not None:
        found["value"] = outcome["score"]
    if outcome["result"] in STATUSES:
        found["status"] = STATUSES[outcome["result"]]
    return found


def standard_address(digest: str) -> str:
    """Return the name of a standard by its SHA-256: an ``ni`` address of RFC 6920.

    >>> standard_address("00" * 32)
    'ni:///sha-256;AAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAA'
    """
    value = base64.urlsafe_b64encode(bytes.fromhex(digest)).rstrip(b"=").decode("ascii")
    return f"ni:///sha-256;{value}"


def _outcome_address(achievement: str, key: str) -> str:
    return f"{achievement}#{quote(key, safe='')}"


def _instant(day: str, at: time, zone: ZoneInfo) -> str:
    return datetime.combine(date.fromisoformat(day), at, tzinfo=zone).isoformat()
