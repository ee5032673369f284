"""SHA-256 over the canonical JSON of a document (RFC 8785), and of secrets."""

import hashlib
from typing import Any

import rfc8785

# What a column that holds one must match.
FORM = r"^[0-9a-f]{64}$"


def digest(document: Any) -> str:
    """Return the lower-case hex SHA-256 over the RFC 8785 form of ``document``."""
    return hashlib.sha256(rfc8785.dumps(document)).hexdigest()


def secret_digest(secret: str) -> str:
    """Return what is kept of the secret of an address: hex SHA-256, by which it is looked up."""
    return hashlib.sha256(secret.encode()).hexdigest()
