"""The proofs of credentials against the vectors of the W3C, and lists against its example.

Sources: Data Integrity EdDSA Cryptosuites v1.0, https://www.w3.org/TR/vc-di-eddsa/, appendix B
(data/README.md says which files; seen); Bitstring Status List v1.0,
https://www.w3.org/TR/vc-bitstring-status-list/ (seen).
"""

import copy
import json
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest
import rfc8785
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

from certificates.credentials import status_list
from certificates.credentials.multikey import from_multibase, from_multikey, to_multikey
from certificates.credentials.proofs import ProofInvalid, check_proof, hash_data, with_proof

VECTORS = json.loads((Path(__file__).parent / "data" / "eddsa_jcs_2022.json").read_text())
SIGNED: dict[str, Any] = VECTORS["signed"]
METHOD: str = SIGNED["proof"]["verificationMethod"]
KEYS = {METHOD: from_multikey(VECTORS["publicKeyMultibase"])}
CREATED = datetime(2023, 2, 24, 23, 36, 38, tzinfo=UTC)
# Section 3.2, "Example BitstringStatusListCredential": a list of 16 kB without a bit set.
EMPTY_LIST = "uH4sIAAAAAAAAA-3BMQEAAADCoPVPbQwfoAAAAAAAAAAAAAAAAAAAAIC3AYbSVKsAQAAA"


def private_key() -> Ed25519PrivateKey:
    """Return the private key of the vectors: two bytes for its kind (0x8026), then the key."""
    data = from_multibase(VECTORS["privateKeyMultibase"])
    assert data[:2] == bytes.fromhex("8026")
    return Ed25519PrivateKey.from_private_bytes(data[2:])


def unsecured() -> dict[str, Any]:
    """Return the document of the vectors without its proof."""
    return {name: value for name, value in SIGNED.items() if name != "proof"}


def test_the_keys_of_the_vectors() -> None:
    assert to_multikey(private_key().public_key()) == VECTORS["publicKeyMultibase"]
    assert private_key().public_key() == KEYS[METHOD]


def test_the_canonical_forms_and_their_digests() -> None:
    proof = json.loads(VECTORS["proofCanon"])
    assert rfc8785.dumps(unsecured()).decode() == VECTORS["canonDoc"]
    assert rfc8785.dumps(proof).decode() == VECTORS["proofCanon"]
    combined = hash_data(unsecured(), proof).hex()
    assert combined == VECTORS["combinedHash"] == VECTORS["proofHash"] + VECTORS["docHash"]


def test_the_signature_is_made_again_to_the_last_byte() -> None:
    made = with_proof(unsecured(), key=private_key(), verification_method=METHOD, created=CREATED)
    assert made["proof"] == [SIGNED["proof"]]
    assert from_multibase(made["proof"][0]["proofValue"]).hex() == VECTORS["signatureHex"]


def test_the_vectors_hold() -> None:
    assert check_proof(SIGNED, KEYS) == METHOD
    # An earlier state of the vectors signs a proof that names no context.
    earlier = copy.deepcopy(SIGNED)
    del earlier["proof"]["@context"]
    earlier["proof"]["proofValue"] = VECTORS["proofValueWithoutContext"]
    assert check_proof(earlier, KEYS) == METHOD


def _other_name(document: dict[str, Any]) -> None:
    document["name"] = "Alumni Credentials"


def _other_day(document: dict[str, Any]) -> None:
    document["proof"]["created"] = "2023-02-25T23:36:38Z"


def _other_context(document: dict[str, Any]) -> None:
    document["@context"] = ["https://www.w3.org/ns/credentials/v2"]


def _other_key(document: dict[str, Any]) -> None:
    document["proof"]["verificationMethod"] = METHOD.replace("5678", "5679")


def _other_suite(document: dict[str, Any]) -> None:
    document["proof"]["cryptosuite"] = "eddsa-rdfc-2022"


def _other_purpose(document: dict[str, Any]) -> None:
    document["proof"]["proofPurpose"] = "authentication"


def _two_proofs(document: dict[str, Any]) -> None:
    document["proof"] = [document["proof"], document["proof"]]


def _no_proof(document: dict[str, Any]) -> None:
    del document["proof"]


def _cut_value(document: dict[str, Any]) -> None:
    document["proof"]["proofValue"] = document["proof"]["proofValue"][:-4]


def _strange_letter(document: dict[str, Any]) -> None:
    document["proof"]["proofValue"] = "z0OIl" + document["proof"]["proofValue"][5:]


def _no_number(document: dict[str, Any]) -> None:
    document["number"] = float("nan")


@pytest.mark.parametrize(
    ("change", "said"),
    [
        (_other_name, "not what was signed"),
        (_other_day, "not what was signed"),
        (_other_context, "another context than was signed"),
        (_other_key, "is not one of the issuer's"),
        (_other_suite, "not of the kind eddsa-jcs-2022"),
        (_other_purpose, "another purpose"),
        (_two_proofs, "exactly one proof"),
        (_no_proof, "exactly one proof"),
        (_cut_value, "not a signature of Ed25519"),
        (_strange_letter, "cannot be read"),
        (_no_number, "cannot be read"),
    ],
)
def test_anything_else_does_not_hold(change: Callable[[dict[str, Any]], None], said: str) -> None:
    document = copy.deepcopy(SIGNED)
    change(document)
    with pytest.raises(ProofInvalid, match=said):
        check_proof(document, KEYS)


def test_the_example_list_holds_no_bit() -> None:
    bits = status_list.decode(EMPTY_LIST)
    assert len(bits) == 16 * 1024
    assert not any(bits)
    # Ours differs in the byte of GZIP's header that tells how hard the packer tried (RFC 1952).
    ours = status_list.encode([])
    assert status_list.decode(ours) == bits
    assert ours[13:] == EMPTY_LIST[13:]


def test_the_first_index_is_the_left_most_bit() -> None:
    """Section 3.2: index 0 is the left-most bit, the last index the right-most one."""
    last = status_list.ENTRIES - 1
    bits = status_list.decode(status_list.encode([0, 10, last]))
    assert bits[:2] == bytes([0b1000_0000, 0b0010_0000])
    assert bits[-1] == 0b0000_0001
    assert bin(int.from_bytes(bits, "big")).count("1") == 3
    found = [index for index in range(status_list.ENTRIES) if status_list.is_set(bits, index)]
    assert found == [0, 10, last]
