"""Ed25519 public keys as text: the Multikey form of Controlled Identifiers v1.0.

https://www.w3.org/TR/cid-1.0/#Multikey: base58btc (marked ``z``) over the two bytes that name
the kind of key and its 32 bytes.
"""

import base58
from cryptography.hazmat.primitives import serialization
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PublicKey

BASE58BTC = "z"
ED25519_PUBLIC = bytes.fromhex("ed01")
LENGTH = 32


def to_multibase(data: bytes) -> str:
    """Return ``data`` in base58btc, with the sign that says so.

    >>> to_multibase(b"sill")
    'z3x6zDy'
    """
    return BASE58BTC + base58.b58encode(data).decode("ascii")


def from_multibase(text: str) -> bytes:
    """Return the bytes of a base58btc text; raise ValueError when it is none."""
    if not text.startswith(BASE58BTC):
        raise ValueError(f"“{text[:8]}” does not begin with {BASE58BTC}, the sign of base58btc.")
    return base58.b58decode(text[1:].encode("ascii"))


def to_multikey(key: Ed25519PublicKey) -> str:
    """Return the key as text; it begins with ``z6Mk``."""
    raw = key.public_bytes(serialization.Encoding.Raw, serialization.PublicFormat.Raw)
    return to_multibase(ED25519_PUBLIC + raw)


def from_multikey(text: str) -> Ed25519PublicKey:
    """Return the key that ``to_multikey`` wrote; raise ValueError when it is another kind."""
    data = from_multibase(text)
    if data[:2] != ED25519_PUBLIC or len(data) != len(ED25519_PUBLIC) + LENGTH:
        raise ValueError(f"“{text[:8]}…” is not the public key of Ed25519.")
    return Ed25519PublicKey.from_public_bytes(data[2:])
