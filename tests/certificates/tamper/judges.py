"""What programs that are not ours say of a signed file.

poppler's pdfsig and OpenSSL's cms are run as anybody would; pyHanko is asked with its own rules
for later changes. Each answers yes only when it has nothing at all to object to.
"""

import re
import subprocess
from collections.abc import Callable
from io import BytesIO
from pathlib import Path
from tempfile import TemporaryDirectory

from pyhanko.keys import load_certs_from_pemder_data
from pyhanko.pdf_utils.misc import PdfError
from pyhanko.pdf_utils.reader import PdfFileReader
from pyhanko.sign.general import UnacceptableSignerError
from pyhanko.sign.validation import validate_pdf_signature
from pyhanko.sign.validation.errors import SignatureValidationError
from pyhanko_certvalidator import ValidationContext

from certificates.signing import KeyStore
from tests.certificates.pdf.conftest import SIGNED_AT

Judge = Callable[[bytes, KeyStore], bool]
RANGE = rb"/ByteRange\s*\[\s*(\d+)\s+(\d+)\s+(\d+)\s+(\d+)\s*\]"


def pdfsig(pdf: bytes, keystore: KeyStore) -> bool:
    """poppler: one signature, valid, over the total document. The issuer is not asked for."""
    said = _pdfsig(pdf)
    return (
        said.count("Signature #") == 1
        and "Signature is Valid." in said
        and "Total document signed" in said
    )


def pdfsig_valid(pdf: bytes, keystore: KeyStore) -> bool:
    """poppler: a signature is valid, whatever it covers: what a hasty reader looks for."""
    return "Signature is Valid." in _pdfsig(pdf)


def _pdfsig(pdf: bytes) -> str:
    with TemporaryDirectory() as folder:
        path = Path(folder) / "record.pdf"
        path.write_bytes(pdf)
        command = ["pdfsig", "-nocert", str(path)]
        done = subprocess.run(
            command, capture_output=True, text=True, errors="replace", cwd=folder, check=False
        )
    return done.stdout


def openssl(pdf: bytes, keystore: KeyStore) -> bool:
    """OpenSSL: a signature taken out by its byte range holds under the issuer's root.

    It sees what is hashed and nothing else, so it says nothing of what stands beside it.
    """
    for found in re.finditer(RANGE, pdf):
        start, before, resume, after = (int(number) for number in found.groups())
        digits = re.match(rb"<([0-9A-Fa-f]*)>", pdf[start + before : resume])
        if digits is None or len(digits[1]) % 2:
            continue
        content = pdf[start : start + before] + pdf[resume : resume + after]
        if _cms(content, bytes.fromhex(digits[1].decode()), keystore):
            return True
    return False


def _cms(content: bytes, container: bytes, keystore: KeyStore) -> bool:
    with TemporaryDirectory() as folder:
        for name, data in (
            ("content", content), ("cms", container), ("root", keystore.roots_pem()),
        ):  # fmt: skip
            (Path(folder) / name).write_bytes(data)
        command = [
            "openssl", "cms", "-verify", "-binary", "-inform", "DER", "-in", "cms", "-content",
            "content", "-CAfile", "root", "-purpose", "any", "-attime",
            str(int(SIGNED_AT.timestamp())), "-out", "out",
        ]  # fmt: skip
        done = subprocess.run(command, cwd=folder, capture_output=True, check=False)
        return done.returncode == 0 and b"Verification successful" in done.stderr


def pyhanko(pdf: bytes, keystore: KeyStore) -> bool:
    """pyHanko with its usual rules: there are signatures, and all of them pass."""
    try:
        found = PdfFileReader(BytesIO(pdf)).embedded_signatures
        return bool(found) and all(
            validate_pdf_signature(
                signature,
                ValidationContext(
                    trust_roots=list(load_certs_from_pemder_data(keystore.roots_pem())),
                    moment=SIGNED_AT,
                    allow_fetching=False,
                ),
            ).bottom_line
            for signature in found
        )
    except (PdfError, SignatureValidationError, UnacceptableSignerError, ValueError, TypeError):
        return False


JUDGES: dict[str, Judge] = {
    "pdfsig": pdfsig,
    "pdfsig, one is valid": pdfsig_valid,
    "openssl cms": openssl,
    "pyHanko": pyhanko,
}
