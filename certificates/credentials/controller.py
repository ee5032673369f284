"""The document that tells an issuer's keys: a controller document.

Controlled Identifiers v1.0, https://www.w3.org/TR/cid-1.0/.
"""

from collections.abc import Iterable
from typing import Any

from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PublicKey

from certificates.credentials.multikey import to_multikey

CONTEXT = "https://www.w3.org/ns/cid/v1"


def method_address(controller: str, key: Ed25519PublicKey) -> str:
    """Return the address of ``key`` within the document at ``controller``."""
    return f"{controller}#{to_multikey(key)}"


def controller_document(controller: str, keys: Iterable[Ed25519PublicKey]) -> dict[str, Any]:
    """Return the document that lets ``keys`` assert credentials in the issuer's name."""
    methods = [
        {
            "id": method_address(controller, key),
            "type": "Multikey",
            "controller": controller,
            "publicKeyMultibase": to_multikey(key),
        }
        for key in keys
    ]
    return {
        "@context": [CONTEXT],
        "id": controller,
        "verificationMethod": methods,
        "assertionMethod": [method["id"] for method in methods],
    }
