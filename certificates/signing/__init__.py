"""Sign records, and check them: keys, PAdES signatures, verdicts."""

from certificates.signing.errors import KeyStoreError, SigningRefused
from certificates.signing.keystore import KeyStore
from certificates.signing.signer import sign
from certificates.signing.verdict import Verdict
from certificates.signing.verify import verify

__all__ = ["KeyStore", "KeyStoreError", "SigningRefused", "Verdict", "sign", "verify"]
