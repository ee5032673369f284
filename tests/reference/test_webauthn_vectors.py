"""Passkeys against the test vectors of the W3C.

Source: W3C Web Authentication Level 3, section 16, seen as they are quoted in the tests of
another implementation, not in the specification itself. What can be recomputed is: the challenges
and private keys follow from HKDF-SHA-256 (RFC 5869) as section 16.1 says, and each public key
from its private key. Level 2, which the product keeps to, has the same checks and no vectors.
"""

import json
from pathlib import Path
from typing import Any

import pytest
from cryptography.hazmat.primitives import hashes
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.hazmat.primitives.kdf.hkdf import HKDF
from webauthn import verify_authentication_response, verify_registration_response

from tests.training.passwordless.authenticator import b64
from training import passkeys
from training.passkeys import WrongAnswerError, checked_addition, checked_sign_in, read_answer

FILE = Path(__file__).parent / "data/webauthn_vectors.json"
VECTORS: dict[str, Any] = json.loads(FILE.read_text(encoding="utf-8"))
NAMES = [name for name in VECTORS if name != "about"]
WITH_KEY = [name for name in NAMES if "private_key" in VECTORS[name]]
USER_VERIFIED = 0x04
FLAGS = 32  # where the byte of flags is in authenticator data


@pytest.fixture(autouse=True)
def site(settings: Any) -> None:
    """The vectors are of the origin https://example.org."""
    settings.BASE_URL = "https://example.org"


def answer(name: str, part: dict[str, str]) -> str:
    """Return a vector as a browser's JSON."""
    key = b64(bytes.fromhex(VECTORS[name]["credential_id"]))
    parts = ("clientDataJSON", "attestationObject", "authenticatorData", "signature")
    response = {each: b64(bytes.fromhex(part[each])) for each in parts if each in part}
    return json.dumps({"id": key, "rawId": key, "type": "public-key", "response": response})


def derived(name: str, salt: str) -> str:
    """Return 32 bytes as section 16.1 derives them."""
    made = HKDF(hashes.SHA256(), 32, bytes.fromhex(salt), name.encode())
    return made.derive(b"WebAuthn test vectors").hex()


def public_key(name: str) -> bytes:
    """Return the COSE key at the end of the attestation: 77 bytes for ES256."""
    return bytes.fromhex(VECTORS[name]["attestationObject"])[-77:]


def of(name: str) -> tuple[str, bytes]:
    """Return the registration of a vector, and its challenge."""
    return answer(name, VECTORS[name]), bytes.fromhex(VECTORS[name]["challenge"])


@pytest.mark.parametrize("name", WITH_KEY)
def test_the_vectors_are_what_they_say(name: str) -> None:
    vector = VECTORS[name]
    assert vector["challenge"] == derived(name, "00")
    assert vector["private_key"] == derived(name, "01")
    private = ec.derive_private_key(int(vector["private_key"], 16), ec.SECP256R1())
    point = private.public_key().public_numbers()
    assert public_key(name)[10:42] == point.x.to_bytes(32)
    assert public_key(name)[45:] == point.y.to_bytes(32)


def test_a_verified_registration_is_taken() -> None:
    found = checked_addition(*of("packed-self.ES256"))
    assert found.credential_id.hex() == VECTORS["packed-self.ES256"]["credential_id"]
    assert found.credential_public_key == public_key("packed-self.ES256")
    assert found.user_verified


def test_a_changed_challenge_is_not() -> None:
    given, challenge = of("packed-self.ES256")
    with pytest.raises(WrongAnswerError):
        checked_addition(given, challenge[::-1])


@pytest.mark.parametrize("name", ["none.ES256", "none.ES256.topOrigin"])
def test_a_registration_without_unlocking_is_refused_for_that_alone(
    name: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    given, challenge = of(name)
    monkeypatch.setattr(passkeys, "_need_own_page", lambda _data: None)
    with pytest.raises(WrongAnswerError, match="verified"):
        checked_addition(given, challenge)
    assert verify_registration_response(
        credential=given,
        expected_challenge=challenge,
        expected_rp_id="example.org",
        expected_origin="https://example.org",
    )


def test_a_page_inside_another_site_is_refused_for_that_alone(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    given, challenge = of("none.ES256.crossOrigin")
    with pytest.raises(WrongAnswerError, match="inside another"):
        checked_addition(given, challenge)
    monkeypatch.setattr(passkeys, "_need_own_page", lambda _data: None)
    assert checked_addition(given, challenge).user_verified


@pytest.mark.parametrize("name", ["none.ES256", "packed-self.ES256"])
def test_a_sign_in_without_unlocking_is_refused_for_that_alone(name: str) -> None:
    get = VECTORS[name]["get"]
    assert not bytes.fromhex(get["authenticatorData"])[FLAGS] & USER_VERIFIED
    given, challenge = answer(name, get), bytes.fromhex(get["challenge"])
    with pytest.raises(WrongAnswerError, match="verified"):
        checked_sign_in(read_answer(given), challenge, public_key(name))
    assert verify_authentication_response(
        credential=given,
        expected_challenge=challenge,
        expected_rp_id="example.org",
        expected_origin="https://example.org",
        credential_public_key=public_key(name),
        credential_current_sign_count=0,
    )


def test_a_verified_sign_in_is_taken_but_for_the_page_around_it(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    name = "none.ES256.topOrigin"
    get = VECTORS[name]["get"]
    given, challenge = read_answer(answer(name, get)), bytes.fromhex(get["challenge"])
    with pytest.raises(WrongAnswerError, match="inside another"):
        checked_sign_in(given, challenge, public_key(name))
    monkeypatch.setattr(passkeys, "_need_own_page", lambda _data: None)
    found = checked_sign_in(given, challenge, public_key(name))
    assert found.user_verified
    with pytest.raises(WrongAnswerError, match="signature"):
        checked_sign_in(given, challenge, public_key("none.ES256"))
