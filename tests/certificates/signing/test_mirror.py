"""Of the two values that an ECDSA signature can have, records bear one.

The library ``cryptography`` (OpenSSL) is the judge of what verifies.
"""

from cryptography.hazmat.primitives import hashes
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.hazmat.primitives.asymmetric.utils import (
    decode_dss_signature,
    encode_dss_signature,
)

from certificates.signing.mirror import ORDER, is_lesser, lesser

KEY = ec.derive_private_key(20261125, ec.SECP256R1())
ALGORITHM = ec.ECDSA(hashes.SHA256(), deterministic_signing=True)


def test_both_values_verify_and_lead_to_the_one_with_the_lesser_s() -> None:
    found = set()
    for number in range(40):
        data = str(number).encode()
        made = KEY.sign(data, ALGORITHM)
        r, s = decode_dss_signature(made)
        mirrored = encode_dss_signature(r, ORDER - s)
        for value in (made, mirrored):
            KEY.public_key().verify(value, data, ALGORITHM)
        assert lesser(made) == lesser(mirrored)
        assert decode_dss_signature(lesser(made))[1] <= ORDER // 2
        assert [is_lesser(made), is_lesser(mirrored)].count(True) == 1
        found.add(is_lesser(made))
    assert found == {True, False}  # the library gives both kinds


def test_what_is_no_signature_is_not_the_value_of_a_record() -> None:
    over = encode_dss_signature(1, ORDER + 1)
    for odd in (b"", b"no signature", over, lesser(KEY.sign(b"", ALGORITHM)) + b"\0"):
        assert not is_lesser(odd)
