"""The signature, as programs that are not ours see it."""

import re
import subprocess
from datetime import UTC, datetime
from io import BytesIO
from pathlib import Path

import pikepdf
import pytest
from pyhanko.keys import load_certs_from_pemder_data
from pyhanko.pdf_utils.reader import PdfFileReader
from pyhanko.sign.validation import validate_pdf_signature
from pyhanko.sign.validation.status import SignatureCoverageLevel
from pyhanko_certvalidator import ValidationContext

from certificates.signing import KeyStore, SigningRefused, sign, signer, verify
from certificates.signing.signer import AMBIGUOUS_END, FIELD_NAME, ROOM
from tests.certificates.pdf.conftest import CHECKED_AT, SIGNED_AT, sign_it
from tests.certificates.pdf.tools import run_on


def _parts(pdf: bytes) -> tuple[bytes, bytes]:
    """The signed bytes and the CMS object, taken out by hand as ISO 32000-1, 12.8.1, says."""
    (found,) = re.finditer(rb"/ByteRange \[(\d+) (\d+) (\d+) (\d+)\]", pdf)
    start, before, resume, after = (int(number) for number in found.groups())
    contents = bytes.fromhex(pdf[before + 1 : resume - 1].decode())
    return pdf[start : start + before] + pdf[resume : resume + after], contents


def test_poppler_finds_the_signature_valid_and_the_file_covered(signed: bytes) -> None:
    said = run_on(signed, "pdfsig", "-nocert", "FILE")
    assert said.count("Signature #") == 1
    assert "Signature is Valid." in said
    assert "Total document signed" in said
    assert "ETSI.CAdES.detached" in said
    assert "SHA-256" in said
    assert f"Signature Field Name: {FIELD_NAME}" in said


def test_pyhanko_trusts_it_under_the_root(signed: bytes, keystore: KeyStore) -> None:
    (signature,) = PdfFileReader(BytesIO(signed)).embedded_signatures
    roots = list(load_certs_from_pemder_data(keystore.roots_pem()))
    status = validate_pdf_signature(
        signature, ValidationContext(trust_roots=roots, moment=SIGNED_AT, allow_fetching=False)
    )
    assert status.bottom_line
    assert status.coverage == SignatureCoverageLevel.ENTIRE_FILE
    assert status.signer_reported_dt == SIGNED_AT


def test_openssl_verifies_it_under_the_root(
    signed: bytes, keystore: KeyStore, tmp_path: Path
) -> None:
    content, contents = _parts(signed)
    (tmp_path / "content").write_bytes(content)
    (tmp_path / "cms").write_bytes(contents)
    (tmp_path / "root").write_bytes(keystore.roots_pem())
    command = [
        "openssl", "cms", "-verify", "-binary", "-inform", "DER", "-in", "cms", "-content",
        "content", "-CAfile", "root", "-purpose", "any", "-attime",
        str(int(SIGNED_AT.timestamp())), "-out", "out",
    ]  # fmt: skip
    done = subprocess.run(command, cwd=tmp_path, capture_output=True, text=True, check=False)
    assert "Verification successful" in done.stderr
    (tmp_path / "content").write_bytes(content[:-1] + b"x")
    done = subprocess.run(command, cwd=tmp_path, capture_output=True, text=True, check=False)
    assert done.returncode != 0


def test_it_is_a_pades_baseline_signature(signed: bytes) -> None:
    """ETSI EN 319 142-1, clause 6.3, level B-B: these attributes and no signing-time."""
    (signature,) = PdfFileReader(BytesIO(signed)).embedded_signatures
    (info,) = signature.signed_data["signer_infos"]
    names = {attribute["type"].native for attribute in info["signed_attrs"]}
    assert names >= {"content_type", "message_digest", "signing_certificate_v2"}
    assert "signing_time" not in names
    assert len(info["unsigned_attrs"]) == 0
    assert info["digest_algorithm"]["algorithm"].native == "sha256"
    assert info["signature_algorithm"]["algorithm"].native == "sha256_ecdsa"
    assert len(signature.signed_data["certificates"]) == 1


def test_it_closes_the_file_against_changes(signed: bytes) -> None:
    """ISO 32000-1, 12.8.2.2: a certifying signature with P 1 permits no changes."""
    with pikepdf.open(BytesIO(signed)) as pdf:
        signature = pdf.Root.Perms.DocMDP
        (reference,) = signature.Reference
        assert reference.TransformMethod == "/DocMDP"
        assert reference.TransformParams.P == 1
        assert pdf.Root.AcroForm.Fields[0].V.objgen == signature.objgen
        assert pdf.Root.AcroForm.SigFlags == 3
        assert signature.M == "D:20260928140500Z"
        assert signature.Reason == "Issue of the record"
        assert signature.Location == "Port Ellery"
        assert signature.Name == "Ashlar Row Training Yard"


def test_the_signed_field_stays_in_the_structure_tree(signed: bytes) -> None:
    with pikepdf.open(BytesIO(signed)) as pdf:
        (field,) = pdf.Root.AcroForm.Fields
        numbers = list(pdf.Root.StructTreeRoot.ParentTree.Nums)
        element = numbers[numbers.index(field.StructParent) + 1]
        assert element.S == "/Form"
        assert element.K[0].Obj.objgen == field.objgen
        assert len(pdf.pages[0].Annots) == 2
        assert str(field.TU).startswith("Electronic signature of Ashlar Row Training Yard")


def test_the_same_pdf_key_and_time_give_the_same_bytes(
    unsigned: bytes, signed: bytes, keystore: KeyStore
) -> None:
    assert sign_it(unsigned, keystore) == signed


@pytest.mark.parametrize("which", ["signed", "no pdf", "no field", "cut"])
def test_what_is_no_fresh_record_is_not_signed(
    which: str, unsigned: bytes, signed: bytes, keystore: KeyStore
) -> None:
    with pikepdf.new() as pdf:
        pdf.add_blank_page()
        output = BytesIO()
        pdf.save(output, static_id=True)
    data = {
        "signed": signed,
        "no pdf": b"Zdenek",
        "no field": output.getvalue(),
        "cut": unsigned[: len(unsigned) // 2],
    }[which]
    with pytest.raises(SigningRefused, match=r"cannot be signed .*Render the record again"):
        sign_it(data, keystore)


def test_a_time_without_a_zone_is_refused(unsigned: bytes, keystore: KeyStore) -> None:
    naive = datetime(2026, 9, 28, 14, 5, tzinfo=UTC).replace(tzinfo=None)
    with pytest.raises(ValueError, match="time zone"):
        sign(unsigned, keystore, signing_time=naive, reason="", location="")


def test_signing_again_when_the_table_ends_like_a_line(
    unsigned: bytes, signed: bytes, keystore: KeyStore, monkeypatch: pytest.MonkeyPatch
) -> None:
    assert AMBIGUOUS_END not in signed
    # Take the end that came out for the one that is ambiguous: the next try must differ from it.
    last = signed.rindex(b"\nendstream")
    end = signed[last - 4 : last + 10]
    monkeypatch.setattr(signer, "AMBIGUOUS_END", end)
    other = sign_it(unsigned, keystore)
    assert end not in other
    assert len(_parts(other)[1]) == len(_parts(signed)[1]) + 1
    assert verify(other, keystore.roots(), now=CHECKED_AT).genuine


def test_names_of_the_longest_kind_fit(unsigned: bytes, tmp_path: Path) -> None:
    name = "Βελονάκι " * 30
    store = KeyStore(tmp_path / "keys", b"mallet and chisel", organisation=name)
    signed = sign_it(unsigned, store)
    assert "Signature is Valid." in run_on(signed, "pdfsig", "-nocert", "FILE")
    assert store.signing_certificates()[0].subject.rfc4514_string() == (
        "CN=Βελονάκι Βελονάκι Βελονάκι Βε\\, records,O=Βελονάκι Βελονάκι Βελονάκι Βελονά"
    )
    used = len(_parts(signed)[1].rstrip(b"\0")) * 2
    assert 2300 < used < ROOM - 100
