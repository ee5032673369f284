"""A device that makes passkeys, written after W3C Web Authentication Level 2, sections 6 and 7.

It shares no code with the product or the package that checks its answers; keys and signatures
are by ``cryptography``, its CBOR is written out by hand after RFC 8949.
"""

import base64
import hashlib
import json
import secrets
from dataclasses import dataclass, field
from typing import Any

from cryptography.hazmat.primitives import hashes
from cryptography.hazmat.primitives.asymmetric import ec

PRESENT, VERIFIED, ATTESTED = 0x01, 0x04, 0x40


def b64(data: bytes) -> str:
    """Return base64url without padding."""
    return base64.urlsafe_b64encode(data).rstrip(b"=").decode()


def from_b64(text: str) -> bytes:
    """Return the bytes of base64url without padding."""
    return base64.urlsafe_b64decode(text + "=" * (-len(text) % 4))


def cbor_bytes(data: bytes) -> bytes:
    """Return ``data`` as a CBOR byte string of fewer than 65,536 bytes."""
    size = len(data)
    if size < 24:
        return bytes([0x40 + size]) + data
    return (bytes([0x58, size]) if size < 256 else b"\x59" + size.to_bytes(2)) + data


@dataclass
class Device:
    """One passkey on one device; what it says can be bent for a test."""

    origin: str
    rp_id: str
    flags: int = PRESENT | VERIFIED
    count: int = 0
    step: int = 1
    cross_origin: bool = False
    handle: bytes = b""
    credential_id: bytes = field(default_factory=lambda: secrets.token_bytes(32))
    key: ec.EllipticCurvePrivateKey = field(
        default_factory=lambda: ec.generate_private_key(ec.SECP256R1())
    )

    def create(self, options: dict[str, Any], **bent: Any) -> str:
        """Answer ``navigator.credentials.create()`` with no attestation."""
        self.handle = from_b64(options["user"]["id"])
        where = self.key.public_key().public_numbers()
        # {1: 2 (EC2), 3: -7 (ES256), -1: 1 (P-256), -2: x, -3: y}, RFC 9053
        public = b"\xa5\x01\x02\x03\x26\x20\x01\x21" + cbor_bytes(where.x.to_bytes(32))
        public += b"\x22" + cbor_bytes(where.y.to_bytes(32))
        attested = bytes(16) + len(self.credential_id).to_bytes(2) + self.credential_id + public
        data = self._data(self.flags | ATTESTED) + attested
        attestation = b"\xa3\x63fmt\x64none\x67attStmt\xa0\x68authData" + cbor_bytes(data)
        response = {
            "clientDataJSON": b64(self._client("webauthn.create", options, **bent)),
            "attestationObject": b64(attestation),
        }
        return self._answer(response)

    def get(self, options: dict[str, Any], **bent: Any) -> str:
        """Answer ``navigator.credentials.get()``; the count goes up by ``step``."""
        self.count += self.step
        data = self._data(self.flags)
        client = self._client("webauthn.get", options, **bent)
        signed = data + hashlib.sha256(client).digest()
        response = {
            "clientDataJSON": b64(client),
            "authenticatorData": b64(data),
            "signature": b64(self.key.sign(signed, ec.ECDSA(hashes.SHA256()))),
        }
        if self.handle:
            response["userHandle"] = b64(self.handle)
        return self._answer(response)

    def _data(self, flags: int) -> bytes:
        rp = hashlib.sha256(self.rp_id.encode()).digest()
        return rp + bytes([flags]) + self.count.to_bytes(4)

    def _client(self, kind: str, options: dict[str, Any], **bent: Any) -> bytes:
        said = {
            "type": kind,
            "challenge": options["challenge"],
            "origin": self.origin,
            "crossOrigin": self.cross_origin,
        }
        return json.dumps({**said, **bent}).encode()

    def _answer(self, response: dict[str, str]) -> str:
        name = b64(self.credential_id)
        return json.dumps({"id": name, "rawId": name, "type": "public-key", "response": response})
