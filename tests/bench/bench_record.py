"""How long a record takes, against bare WeasyPrint and bare pyHanko on the same two documents.

Run ``python -m tests.bench.bench_record [ROUNDS]``. The bare side gets the finished page source
and stylesheet, asks WeasyPrint for the same kind of PDF, and signs it with pyHanko as it comes.
Both sides take turns, so that other load on the machine meets both alike.
"""

import sys
import time
from collections.abc import Callable
from io import BytesIO
from pathlib import Path
from statistics import median
from tempfile import TemporaryDirectory

from cryptography.hazmat.primitives import serialization
from pyhanko.pdf_utils.incremental_writer import IncrementalPdfFileWriter
from pyhanko.sign.signers import PdfSignatureMetadata, PdfSigner, SimpleSigner
from weasyprint import CSS, HTML, Attachment
from weasyprint.text.fonts import FontConfiguration

from assessments.engine import canonical
from certificates.rendering import CERTIFICATE, COMPETENCY, KINDS, render
from certificates.rendering.document import TEMPLATES, record_html
from certificates.signing import KeyStore, sign, verify
from tests.certificates.pdf.conftest import PASSPHRASE, SIGNED_AT
from tests.certificates.pdf.factory import make_record

ROUNDS = 9


def main(rounds: int) -> None:
    """Print the medians of both sides in milliseconds, and their ratio."""
    record = make_record()
    html = [record_html(record, paper="letter", kind=kind) for kind in KINDS]
    data = canonical.canonical(record)
    with TemporaryDirectory() as folder:
        keystore = KeyStore(Path(folder) / "keys", PASSPHRASE, organisation="Ashlar Row")
        signer = _bare_signer(keystore, Path(folder))

        def ours() -> list[bytes]:
            return [
                sign(
                    render(record, kind=kind),
                    keystore,
                    signing_time=SIGNED_AT,
                    reason="Issue",
                    location="Yard",
                )
                for kind in KINDS
            ]

        def bare() -> list[bytes]:
            return [_bare_sign(_bare_render(source, data), signer) for source in html]

        signed = dict(zip(KINDS, ours(), strict=True))
        bare()
        mine, plain = _take_turns(ours, bare, rounds)
        checked = median(
            _seconds(lambda: verify(signed[COMPETENCY], keystore.roots(), now=SIGNED_AT))
            for _ in range(rounds)
        )
    print(f"rounds                  {rounds}")
    print(f"certificate             {len(signed[CERTIFICATE]):8} bytes")
    print(f"competency record       {len(signed[COMPETENCY]):8} bytes")
    print(f"render and sign both    {mine * 1000:8.1f} ms")
    print(f"bare render and sign    {plain * 1000:8.1f} ms")
    print(f"ratio                   {mine / plain:8.3f}")
    print(f"verify                  {checked * 1000:8.1f} ms")


def _take_turns(
    first: Callable[[], object], second: Callable[[], object], rounds: int
) -> tuple[float, float]:
    times: tuple[list[float], list[float]] = ([], [])
    for number in range(rounds):
        # Whoever goes second in a round finds warm caches: change places each time.
        for side in ((0, 1), (1, 0))[number % 2]:
            times[side].append(_seconds((first, second)[side]))
    return median(times[0]), median(times[1])


def _seconds(work: Callable[[], object]) -> float:
    start = time.perf_counter()
    work()
    return time.perf_counter() - start


def _bare_render(html: str, data: bytes) -> bytes:
    fonts = FontConfiguration()
    pdf: bytes = HTML(string=html).write_pdf(
        stylesheets=[CSS(filename=TEMPLATES / "record.css", font_config=fonts)],
        font_config=fonts,
        attachments=[Attachment(string=data, name="record.json")],
        pdf_variant="pdf/a-3u",
        pdf_tags=True,
    )
    return pdf


def _bare_sign(pdf: bytes, signer: SimpleSigner) -> bytes:
    about = PdfSignatureMetadata(field_name="signature", md_algorithm="sha256")
    output: BytesIO = PdfSigner(about, signer).sign_pdf(IncrementalPdfFileWriter(BytesIO(pdf)))
    return output.getvalue()


def _bare_signer(keystore: KeyStore, folder: Path) -> SimpleSigner:
    """The same key, as pyHanko's own signer wants it."""
    identity = keystore.identity(at=SIGNED_AT)
    key, certificate = folder / "key.pem", folder / "certificate.pem"
    key.write_bytes(
        identity.key.private_bytes(
            serialization.Encoding.PEM,
            serialization.PrivateFormat.PKCS8,
            serialization.NoEncryption(),
        )
    )
    certificate.write_bytes(identity.certificate.public_bytes(serialization.Encoding.PEM))
    load: Callable[[str, str], SimpleSigner] = SimpleSigner.load
    return load(str(key), str(certificate))


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else ROUNDS)
