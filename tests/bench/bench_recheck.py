"""How long checking a record again takes, against the bare validation of its signature.

Run ``python -m tests.bench.bench_recheck [ROUNDS]``. Ours verifies the signature with all the
rules for a record, takes the record out, makes the decision again and compares. The bare side
asks pyHanko for the validity of the same signature and nothing else. Both take turns.
"""

import os
import sys
import time
from collections.abc import Callable
from io import BytesIO
from pathlib import Path
from statistics import median
from tempfile import TemporaryDirectory

import django
from cryptography.hazmat.primitives.serialization import Encoding
from pyhanko.keys import load_certs_from_pemder_data
from pyhanko.pdf_utils.reader import PdfFileReader
from pyhanko.sign.validation import validate_pdf_signature
from pyhanko_certvalidator import ValidationContext

from certificates.rendering import render
from certificates.signing import KeyStore, sign, verify
from tests.certificates.pdf.conftest import PASSPHRASE, SIGNED_AT
from tests.certificates.pdf.factory import make_record

ROUNDS = 15


def main(rounds: int) -> None:
    """Print the medians of both sides in milliseconds, and their ratio."""
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "config.settings")
    django.setup()
    from certificates.recheck import differences  # needs the set-up above

    with TemporaryDirectory() as folder:
        keystore = KeyStore(Path(folder) / "keys", PASSPHRASE, organisation="Ashlar Row")
        pdf = sign(
            render(make_record()), keystore, signing_time=SIGNED_AT, reason="Issue", location="Yard"
        )
        roots = keystore.roots()
    trusted = [
        certificate
        for root in roots
        for certificate in load_certs_from_pemder_data(root.public_bytes(Encoding.DER))
    ]

    def ours() -> None:
        verdict = verify(pdf, roots, now=SIGNED_AT)
        if verdict.record is None or differences(verdict.record):
            raise RuntimeError(f"the record does not pass: {verdict.faults}")

    def bare() -> None:
        context = ValidationContext(trust_roots=trusted, moment=SIGNED_AT, allow_fetching=False)
        signature = PdfFileReader(BytesIO(pdf)).embedded_signatures[0]
        if not validate_pdf_signature(signature, context).valid:
            raise RuntimeError("the signature does not pass")

    ours()
    bare()
    times: tuple[list[float], list[float]] = ([], [])
    for number in range(rounds):
        for side in ((0, 1), (1, 0))[number % 2]:
            times[side].append(_seconds((ours, bare)[side]))
    mine, plain = median(times[0]), median(times[1])
    print(f"rounds                  {rounds}")
    print(f"recheck                 {mine * 1000:8.1f} ms, {len(pdf)} bytes")
    print(f"bare validation         {plain * 1000:8.1f} ms")
    print(f"ratio                   {mine / plain:8.3f}")


def _seconds(work: Callable[[], None]) -> float:
    begin = time.perf_counter()
    work()
    return time.perf_counter() - begin


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else ROUNDS)
