"""The status of many credentials as one list of bits: Bitstring Status List v1.0.

https://www.w3.org/TR/vc-bitstring-status-list/: bit 0 is the left-most one; the bits are packed
with GZIP and written in base64url without padding, marked ``u``. A list is a signed credential
itself, so that it can be handed along. Who looks at a list does not tell the issuer at which of
its many entries they look.
"""

import base64
import binascii
import gzip
import zlib
from collections.abc import Iterable
from datetime import datetime, timedelta
from typing import Any

ENTRIES = 131_072  # the least that the standard lets a list have: 16 kB
BASE64URL = "u"
CONTEXT = "https://www.w3.org/ns/credentials/v2"

SUSPENSION = "suspension"
REVOCATION = "revocation"
PURPOSES = (SUSPENSION, REVOCATION)

# How long a copy may be used without looking again, and how long one that was handed along.
CACHED = timedelta(minutes=5)
VALID = timedelta(days=1)


def encode(indices: Iterable[int]) -> str:
    """Return the list with the bits at ``indices`` set; raise ValueError outside 0..131071."""
    bits = bytearray(ENTRIES // 8)
    for index in indices:
        if not 0 <= index < ENTRIES:
            raise ValueError(f"A list has no entry {index}: it has {ENTRIES}.")
        bits[index // 8] |= 0x80 >> index % 8
    # The time in the packed form is left out: the same bits give the same text.
    packed = gzip.compress(bytes(bits), mtime=0)
    return BASE64URL + base64.urlsafe_b64encode(packed).rstrip(b"=").decode("ascii")


def decode(text: str) -> bytes:
    """Return the bits of a list of ours or another issuer's: 16 kB of them.

    Raises ValueError for anything else; at most one byte more than a list is unpacked.
    """
    if not text.startswith(BASE64URL):
        raise ValueError(f"A list begins with {BASE64URL}, the sign of base64url.")
    body = text[1:]
    try:
        packed = base64.b64decode(body + "=" * (-len(body) % 4), altchars=b"-_", validate=True)
        unpacking = zlib.decompressobj(16 + zlib.MAX_WBITS)
        bits = unpacking.decompress(packed, ENTRIES // 8 + 1)
    except (binascii.Error, zlib.error) as error:
        raise ValueError("The list cannot be unpacked.") from error
    if len(bits) != ENTRIES // 8 or not unpacking.eof:
        raise ValueError(f"The list does not hold {ENTRIES} entries.")
    return bits


def is_set(bits: bytes, index: int) -> bool:
    """Return the bit at ``index`` of an unpacked list; raise ValueError outside it."""
    if not 0 <= index < len(bits) * 8:
        raise ValueError(f"The list has no entry {index}.")
    return bool(bits[index // 8] & 0x80 >> index % 8)


def entry(address: str, *, purpose: str, index: int) -> dict[str, str]:
    """Return what a credential says about where its status stands."""
    return {
        "id": f"{address}#{index}",
        "type": "BitstringStatusListEntry",
        "statusPurpose": purpose,
        "statusListIndex": str(index),
        "statusListCredential": address,
    }


def list_credential(
    address: str, *, purpose: str, issuer: str, indices: Iterable[int], at: datetime
) -> dict[str, Any]:
    """Return the unsigned credential of a list as it stands at ``at``, an aware instant."""
    return {
        "@context": [CONTEXT],
        "id": address,
        "type": ["VerifiableCredential", "BitstringStatusListCredential"],
        "issuer": issuer,
        "validFrom": at.isoformat(timespec="seconds"),
        "validUntil": (at + VALID).isoformat(timespec="seconds"),
        "credentialSubject": {
            "id": f"{address}#list",
            "type": "BitstringStatusList",
            "statusPurpose": purpose,
            "encodedList": encode(indices),
            "ttl": CACHED // timedelta(milliseconds=1),
        },
    }
