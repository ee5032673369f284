"""Issuing keys in a device behind PKCS#11: made there, used there, never seen here.

The device's key looks like any other private key to the rest of the program, which needs nothing
but ``sign`` and ``public_key``. The device chooses the nonce of a signature itself.
"""

import hashlib
import os
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, NoReturn

from asn1crypto import core
from cryptography.hazmat.primitives import hashes
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.hazmat.primitives.asymmetric.utils import encode_dss_signature
from cryptography.hazmat.primitives.serialization import Encoding, PublicFormat
from pkcs11 import Attribute, KeyType, Mechanism, NoSuchKey, ObjectClass, PKCS11Error, lib
from pkcs11.util.ec import encode_named_curve_parameters

from certificates.signing.errors import KeyStoreError

COORDINATE = 32  # bytes, on P-256
# One application has one login to a token, whatever its threads do.
_turn = threading.Lock()
_owner: dict[Path, int] = {}


@dataclass(frozen=True)
class Device:
    """The token with ``label`` behind the PKCS#11 library ``module``."""

    module: Path
    label: str
    pin: str = field(repr=False)

    def make(self) -> "DeviceKey":
        """Make a key pair on P-256 that cannot leave the device; its number is made of it."""
        with self.opened() as session:
            curve = session.create_domain_parameters(
                KeyType.EC,
                {Attribute.EC_PARAMS: encode_named_curve_parameters("secp256r1")},
                local=True,
            )
            public, private = curve.generate_keypair(
                store=True,
                label="bankermark",
                private_template={Attribute.SENSITIVE: True, Attribute.EXTRACTABLE: False},
            )
            # PKCS #11, 2.3.3: the point stands in an octet string.
            point = core.OctetString.load(public[Attribute.EC_POINT]).native
            key = ec.EllipticCurvePublicKey.from_encoded_point(ec.SECP256R1(), point)
            for thing in (public, private):
                thing[Attribute.ID] = number_of(key)
        return DeviceKey(self, key)

    def key_for(self, public: ec.EllipticCurvePublicKey) -> "DeviceKey":
        """The key that belongs to ``public``; raises KeyStoreError when it is not there."""
        with self.opened() as session:
            self.find(session, public)
        return DeviceKey(self, public)

    def find(self, session: Any, public: ec.EllipticCurvePublicKey) -> Any:
        """The private key's handle in an open session."""
        try:
            return session.get_key(object_class=ObjectClass.PRIVATE_KEY, id=number_of(public))
        except NoSuchKey as error:
            raise KeyStoreError(
                f"The token {self.label} does not hold the key {number_of(public).hex()}: connect "
                "the device that the key was made in, or rotate the issuing key."
            ) from error

    @contextmanager
    def opened(self) -> Iterator[Any]:
        """A session for one piece of work; others wait. Raises KeyStoreError when it fails."""
        with _turn:
            try:
                library = lib(str(self.module))
                # A forked process has to begin anew with the library (PKCS #11, 5.4).
                if _owner.setdefault(self.module, os.getpid()) != os.getpid():
                    library.reinitialize()
                    _owner[self.module] = os.getpid()
                with library.get_token(token_label=self.label).open(
                    rw=True, user_pin=self.pin
                ) as session:
                    yield session
            except (PKCS11Error, RuntimeError) as error:
                raise KeyStoreError(
                    f"The token {self.label} behind {self.module} cannot be used "
                    f"({type(error).__name__}): see that the device is connected, and that "
                    "BANKERMARK_PKCS11_TOKEN and BANKERMARK_PKCS11_PIN are its label and PIN."
                ) from error


class DeviceKey(ec.EllipticCurvePrivateKey):
    """A private key that stays in its device."""

    def __init__(self, device: Device, public: ec.EllipticCurvePublicKey) -> None:
        self._device = device
        self._public = public

    def sign(self, data: Any, signature_algorithm: ec.EllipticCurveSignatureAlgorithm) -> bytes:
        """The signature in DER (RFC 3279, 2.2.3) over the SHA-256 of ``data``."""
        if not isinstance(signature_algorithm.algorithm, hashes.SHA256):
            raise ValueError("issuing keys sign with SHA-256")
        with self._device.opened() as session:
            private = self._device.find(session, self._public)
            raw = private.sign(hashlib.sha256(data).digest(), mechanism=Mechanism.ECDSA)
        first, second = raw[:COORDINATE], raw[COORDINATE:]
        return encode_dss_signature(int.from_bytes(first, "big"), int.from_bytes(second, "big"))

    def public_key(self) -> ec.EllipticCurvePublicKey:
        """The public half."""
        return self._public

    @property
    def curve(self) -> ec.EllipticCurve:
        """P-256."""
        return self._public.curve

    @property
    def key_size(self) -> int:
        """256 bits."""
        return self._public.key_size

    def exchange(self, algorithm: ec.ECDH, peer_public_key: ec.EllipticCurvePublicKey) -> NoReturn:
        """Issuing keys sign, and do nothing else."""
        raise KeyStoreError("An issuing key in a device only signs.")

    def private_numbers(self) -> NoReturn:
        """Nobody gets them."""
        raise KeyStoreError("An issuing key in a device never leaves it.")

    def private_bytes(self, *args: Any, **kwargs: Any) -> NoReturn:
        """Nobody gets them."""
        raise KeyStoreError("An issuing key in a device never leaves it.")

    def __copy__(self) -> "DeviceKey":
        return self

    def __deepcopy__(self, memo: dict[int, Any]) -> "DeviceKey":
        return self


def number_of(public: ec.EllipticCurvePublicKey) -> bytes:
    """The number (CKA_ID) of a key pair: 20 bytes made of the public half."""
    spki = public.public_bytes(Encoding.DER, PublicFormat.SubjectPublicKeyInfo)
    return hashlib.sha256(spki).digest()[:20]
