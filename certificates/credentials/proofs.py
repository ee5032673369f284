"""Proofs inside a JSON document, by the cryptosuite eddsa-jcs-2022.

Data Integrity EdDSA Cryptosuites v1.0, section 3.3, https://www.w3.org/TR/vc-di-eddsa/: what is
signed with Ed25519 is the SHA-256 of the proof without its value, followed by the SHA-256 of the
document without its proof, each in the canonical JSON of RFC 8785.
"""

import hashlib
from collections.abc import Mapping
from datetime import UTC, datetime
from typing import Any

import rfc8785
from cryptography.exceptions import InvalidSignature
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey, Ed25519PublicKey

from certificates.credentials.multikey import from_multibase, to_multibase

TYPE = "DataIntegrityProof"
CRYPTOSUITE = "eddsa-jcs-2022"
PURPOSE = "assertionMethod"
SIGNATURE = 64


class ProofInvalid(Exception):  # noqa: N818 - named for what was found
    """The proof does not hold; the text is a sentence that says why."""


def with_proof(
    document: Mapping[str, Any],
    *,
    key: Ed25519PrivateKey,
    verification_method: str,
    created: datetime,
) -> dict[str, Any]:
    """Return ``document`` with a proof by ``key``; ``verification_method`` is its address.

    ``created`` is aware and told in UTC, to the second. The proof is a list of one, as Open
    Badges 3.0 writes what may be many. Raises ValueError if there is a proof already.
    """
    if "proof" in document:
        raise ValueError("This document has a proof already.")
    proof: dict[str, Any] = {
        "type": TYPE,
        "cryptosuite": CRYPTOSUITE,
        "created": f"{created.astimezone(UTC):%Y-%m-%dT%H:%M:%SZ}",
        "verificationMethod": verification_method,
        "proofPurpose": PURPOSE,
    }
    if "@context" in document:
        proof["@context"] = document["@context"]
    value = to_multibase(key.sign(hash_data(document, proof)))
    return {**document, "proof": [{**proof, "proofValue": value}]}


def check_proof(document: Mapping[str, Any], keys: Mapping[str, Ed25519PublicKey]) -> str:
    """Return the address of the key that the one proof of ``document`` holds under.

    ``keys`` are the keys that are trusted to assert, by their address. Raises ProofInvalid
    with a sentence for a document without exactly one proof, and for one that does not hold.
    """
    proof = _only_proof(document)
    method = str(proof.get("verificationMethod"))
    if proof.get("type") != TYPE or proof.get("cryptosuite") != CRYPTOSUITE:
        raise ProofInvalid(f"The proof is not of the kind {CRYPTOSUITE}, the only one known here.")
    if proof.get("proofPurpose") != PURPOSE:
        raise ProofInvalid("The proof was made for another purpose than to assert something.")
    if method not in keys:
        raise ProofInvalid(f"The key {method} is not one of the issuer's.")
    options = {name: value for name, value in proof.items() if name != "proofValue"}
    unsecured = {name: value for name, value in document.items() if name != "proof"}
    if "@context" in options:
        unsecured["@context"] = _signed_context(unsecured, options["@context"])
    try:
        signature = from_multibase(str(proof.get("proofValue")))
        if len(signature) != SIGNATURE:
            raise ProofInvalid("The value of the proof is not a signature of Ed25519.")
        keys[method].verify(signature, hash_data(unsecured, options))
    except InvalidSignature:
        raise ProofInvalid("The document is not what was signed, or another key signed it.") from (
            None
        )
    except ValueError as error:
        raise ProofInvalid(f"The proof cannot be read: {error}") from error
    return method


def hash_data(document: Mapping[str, Any], proof: Mapping[str, Any]) -> bytes:
    """Return the 64 bytes that are signed; neither argument holds what is to be left out.

    Raises ValueError for what RFC 8785 cannot write, such as a number that is not finite.
    """
    return _digest(proof) + _digest(document)


def _digest(data: Mapping[str, Any]) -> bytes:
    return hashlib.sha256(rfc8785.dumps(dict(data))).digest()


def _only_proof(document: Mapping[str, Any]) -> dict[str, Any]:
    found = document.get("proof")
    proofs = found if isinstance(found, list) else [found]
    if len(proofs) != 1 or not isinstance(proofs[0], dict):
        raise ProofInvalid("The document does not hold exactly one proof.")
    return proofs[0]


def _signed_context(document: Mapping[str, Any], signed: Any) -> Any:
    """Return the context that was signed, which the document's own must begin with."""
    own, begin = (
        value if isinstance(value, list) else [value]
        for value in (document.get("@context"), signed)
    )
    if own[: len(begin)] != begin:
        raise ProofInvalid("The document is read in another context than was signed.")
    return signed
