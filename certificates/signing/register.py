"""The issuer's own note of what it revoked, beside the keys: ``revoked.json``.

The lists are made from it. It needs no secret, and is not what others trust: they trust the
signed list.
"""

import json
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from cryptography import x509

from certificates.signing import folder as files
from certificates.signing.errors import KeyStoreError
from certificates.signing.revocation import Revocation

NAME = "revoked.json"


@dataclass(frozen=True)
class Noted:
    """A revocation, with the SHA-256 (lowercase hex) of its certificate."""

    certificate_sha256: str
    revocation: Revocation


def read_register(folder: Path) -> list[Noted]:
    """What was revoked so far, in the order of revocation; raises KeyStoreError if unreadable."""
    path = folder / NAME
    if not path.exists():
        return []
    try:
        return [_from_json(row) for row in json.loads(files.read(path))]
    except (ValueError, KeyError, TypeError) as error:
        raise KeyStoreError(
            f"{path} is damaged ({error}): put it back from a backup. Without it the issuer would "
            "forget which keys it revoked."
        ) from error


def write_register(folder: Path, noted: list[Noted]) -> None:
    """Keep ``noted``; the caller holds the folder's lock."""
    rows = [_to_json(row) for row in noted]
    files.write(folder / NAME, json.dumps(rows, indent=1).encode())


def _to_json(noted: Noted) -> dict[str, str]:
    revocation = noted.revocation
    return {
        "certificate_sha256": noted.certificate_sha256,
        "serial": f"{revocation.serial:x}",
        "revoked_at": revocation.revoked_at.isoformat(),
        "doubtful_from": revocation.doubtful_from.isoformat(),
        "reason": revocation.reason.name,
    }


def _from_json(row: dict[str, str]) -> Noted:
    return Noted(
        row["certificate_sha256"],
        Revocation(
            serial=int(row["serial"], 16),
            revoked_at=datetime.fromisoformat(row["revoked_at"]),
            doubtful_from=datetime.fromisoformat(row["doubtful_from"]),
            reason=x509.ReasonFlags[row["reason"]],
        ),
    )
