"""Which of the two values of an ECDSA signature is the one that records bear.

Where (r, s) verifies, (r, n - s) does, so anybody could swap one for the other. Records bear the
lesser s alone; then no byte of a genuine file can be changed.
"""

from cryptography.hazmat.primitives.asymmetric.utils import (
    decode_dss_signature,
    encode_dss_signature,
)

# The order of the group on P-256 (NIST SP 800-186, 3.2.1.3; FIPS 186-4, D.1.2.3).
ORDER = 0xFFFFFFFF00000000FFFFFFFFFFFFFFFFBCE6FAADA7179E84F3B9CAC2FC632551


def lesser(signature: bytes) -> bytes:
    """The value of the two with the lesser s; in and out in DER (RFC 3279, 2.2.3).

    Raises ValueError where ``signature`` is not one in DER.
    """
    r, s = decode_dss_signature(signature)
    return encode_dss_signature(r, min(s, ORDER - s))


def is_lesser(signature: bytes) -> bool:
    """Whether ``signature`` is the value of the two that records bear, in its one DER form."""
    try:
        return lesser(signature) == signature
    except ValueError:
        return False
