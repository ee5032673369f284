"""The signed file conforms to PDF/A-3u (ISO 19005-3) and PDF/UA-1 (ISO 14289-1).

The judge is page-validation, an independent validator that reads the file itself and reports
against the rules of both standards. It is shown broken files too, so that its word counts.
"""

from collections.abc import Callable
from io import BytesIO

import pikepdf
import pytest
from page import validate_pdf_bytes
from pyhanko.pdf_utils.incremental_writer import IncrementalPdfFileWriter
from pyhanko.sign.fields import SigFieldSpec
from pyhanko.sign.signers import PdfSignatureMetadata, PdfSigner

from certificates.rendering import render
from certificates.signing import KeyStore
from certificates.signing.signer import _KeySigner
from tests.certificates.pdf.conftest import SIGNED_AT, sign_it
from tests.certificates.pdf.factory import make_record
from tests.certificates.pdf.names import NAMES

ARCHIVE = "pdfa3u"
ACCESS = "ua1"
Break = Callable[[pikepdf.Pdf], None]


def faults(pdf: bytes, profile: str) -> list[str]:
    """What the validator says against a file."""
    report = validate_pdf_bytes(pdf, profile=profile)
    assert report.rules.total > 100
    return [f"{failure.rule_id}: {failure.message}" for failure in report.failures]


@pytest.mark.parametrize("profile", [ARCHIVE, ACCESS])
@pytest.mark.parametrize("document", ["signed", "signed_competency"])
def test_the_signed_file_conforms(
    document: str, profile: str, request: pytest.FixtureRequest
) -> None:
    assert faults(request.getfixturevalue(document), profile) == []


@pytest.mark.parametrize("name", NAMES.values(), ids=NAMES.keys())
def test_names_of_many_scripts_conform_on_a4(name: str, keystore: KeyStore) -> None:
    record = make_record(holder={"name": name})
    pdf = sign_it(render(record, paper="a4"), keystore)
    assert [faults(pdf, profile) for profile in (ARCHIVE, ACCESS)] == [[], []]
    with pikepdf.open(BytesIO(pdf)) as opened:
        assert len(opened.pages) == 1


def _drop_unicode(pdf: pikepdf.Pdf) -> None:
    for thing in pdf.objects:
        if isinstance(thing, pikepdf.Dictionary) and "/ToUnicode" in thing:
            del thing["/ToUnicode"]


def _drop_relationship(pdf: pikepdf.Pdf) -> None:
    del pdf.Root.Names.EmbeddedFiles.Names[1]["/AFRelationship"]


def _drop_claim(pdf: pikepdf.Pdf) -> None:
    packet = pdf.Root.Metadata.read_bytes()
    pdf.Root.Metadata.write(packet.replace(b"pdfaid:part", b"pdfaid:port"))


def _drop_access_claim(pdf: pikepdf.Pdf) -> None:
    packet = pdf.Root.Metadata.read_bytes()
    pdf.Root.Metadata.write(packet.replace(b"<pdfuaid:part>1", b"<pdfuaid:part>7"))


def _drop_appearance(pdf: pikepdf.Pdf) -> None:
    del pdf.Root.AcroForm.Fields[0]["/AP"]


def _drop_tree(pdf: pikepdf.Pdf) -> None:
    del pdf.Root["/StructTreeRoot"]


def _drop_alternative_text(pdf: pikepdf.Pdf) -> None:
    for thing in pdf.objects:
        if isinstance(thing, pikepdf.Dictionary) and thing.get("/S") == "/Figure":
            del thing["/Alt"]


def _untag_signature(pdf: pikepdf.Pdf) -> None:
    del pdf.Root.AcroForm.Fields[0]["/StructParent"]


def _drop_title(pdf: pikepdf.Pdf) -> None:
    del pdf.Root["/ViewerPreferences"]


@pytest.mark.parametrize(
    ("profile", "damage"),
    [
        (ARCHIVE, _drop_unicode),
        (ARCHIVE, _drop_relationship),
        (ARCHIVE, _drop_claim),
        (ARCHIVE, _drop_appearance),
        (ACCESS, _drop_access_claim),
        (ACCESS, _drop_tree),
        (ACCESS, _drop_alternative_text),
        (ACCESS, _untag_signature),
        (ACCESS, _drop_title),
    ],
)
def test_the_validator_sees_what_is_broken(unsigned: bytes, profile: str, damage: Break) -> None:
    assert faults(_resaved(unsigned, lambda pdf: None), profile) == []
    assert faults(_resaved(unsigned, damage), profile) != []


def _resaved(data: bytes, change: Break) -> bytes:
    output = BytesIO()
    with pikepdf.open(BytesIO(data)) as pdf:
        change(pdf)
        pdf.save(output)
    return output.getvalue()


@pytest.mark.parametrize("profile", [ARCHIVE, ACCESS])
def test_a_signature_field_added_late_would_not_conform(
    unsigned: bytes, keystore: KeyStore, profile: str
) -> None:
    signer = PdfSigner(
        PdfSignatureMetadata(field_name="late", md_algorithm="sha256"),
        _KeySigner(keystore.identity(at=SIGNED_AT)),
        new_field_spec=SigFieldSpec("late", on_page=0, box=(100, 100, 200, 150)),
    )
    output = signer.sign_pdf(IncrementalPdfFileWriter(BytesIO(unsigned)))
    assert faults(output.getvalue(), profile) != []


def test_signing_leaves_the_metadata_alone(unsigned: bytes, signed: bytes) -> None:
    packets = []
    for data in (unsigned, signed):
        with pikepdf.open(BytesIO(data)) as pdf:
            packets.append((pdf.Root.Metadata.read_bytes(), dict(pdf.docinfo)))
    assert packets[0] == packets[1]
    assert b"pdfaid:part" in packets[0][0]
    assert b"<pdfuaid:part>1" in packets[0][0]
    assert signed.startswith(unsigned)
