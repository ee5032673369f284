"""Lists of bits: what goes in comes out, and nothing else is unpacked."""

import base64
import gzip
from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from certificates.credentials.status_list import (
    ENTRIES,
    decode,
    encode,
    entry,
    is_set,
    list_credential,
)

AT = datetime(2026, 11, 10, 15, 0, tzinfo=UTC)


def packed(data: bytes) -> str:
    """Return ``data`` in the form of a list."""
    return "u" + base64.urlsafe_b64encode(gzip.compress(data, mtime=0)).rstrip(b"=").decode()


@given(st.sets(st.integers(0, ENTRIES - 1), max_size=6))
def test_what_is_set_is_set_and_nothing_else(indices: set[int]) -> None:
    bits = decode(encode(indices))
    assert all(is_set(bits, index) for index in indices)
    assert int.from_bytes(bits, "big").bit_count() == len(indices)


def test_the_order_of_the_indices_does_not_show() -> None:
    assert encode([3, 1, 2]) == encode([1, 2, 3, 3])


@pytest.mark.parametrize("index", [-1, ENTRIES])
def test_an_index_outside_the_list(index: int) -> None:
    with pytest.raises(ValueError, match=rf"no entry {index}"):
        encode([index])
    with pytest.raises(ValueError, match=rf"no entry {index}"):
        is_set(decode(encode([])), index)


@pytest.mark.parametrize(
    "text",
    [
        "",
        "zH4sIAAAAAAAAA",
        "u????",
        "uAAAA",
        packed(b""),
        packed(bytes(ENTRIES // 8 - 1)),
        packed(bytes(ENTRIES // 8 + 1)),
        packed(bytes(100_000_000)),  # far more than it seems: only the begin is unpacked
        packed(bytes(ENTRIES // 8))[:-12],  # its end is cut off
    ],
)
def test_what_is_no_list_is_refused(text: str) -> None:
    with pytest.raises(ValueError, match=r"list"):
        decode(text)


def test_an_entry_names_its_place() -> None:
    address = "https://records.example.org/issuers/1/status/suspension-1.json"
    assert entry(address, purpose="suspension", index=94_567) == {
        "id": f"{address}#94567",
        "type": "BitstringStatusListEntry",
        "statusPurpose": "suspension",
        "statusListIndex": "94567",
        "statusListCredential": address,
    }


def test_a_list_says_until_when_it_may_be_used() -> None:
    made = list_credential(
        "https://a/l", purpose="revocation", issuer="https://a", indices=[], at=AT
    )
    assert made["validFrom"] == AT.isoformat()
    assert datetime.fromisoformat(made["validUntil"]) == AT + timedelta(days=1)
    assert made["credentialSubject"]["ttl"] == 300_000  # milliseconds, the standard's own default
