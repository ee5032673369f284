"""Nobody can change a signed file unseen."""

import random
import re
from collections.abc import Callable
from io import BytesIO
from typing import Any

import pikepdf
import pytest
from pyhanko.pdf_utils import generic
from pyhanko.pdf_utils.incremental_writer import IncrementalPdfFileWriter
from pyhanko.sign.signers import PdfSignatureMetadata, PdfSigner

from assessments.engine.canonical import canonical
from certificates.rendering import render
from certificates.signing import KeyStore, Verdict, verdict, verify
from certificates.signing.signer import _KeySigner
from tests.certificates.pdf.conftest import CHECKED_AT, SIGNED_AT, sign_it
from tests.certificates.pdf.factory import Document, make_record
from tests.faults.marks import at_length

FLIPS = [120, *at_length(400)]
SEED = 19_283
CONTAINER = 1_050  # bytes of the signature in front of the zeros that fill up its room


def check(pdf: bytes, keystore: KeyStore) -> Verdict:
    """The verdict on a file that was signed by this keystore and then changed."""
    found = verify(pdf, keystore.roots(), now=CHECKED_AT)
    assert found.record is None or found.genuine
    return found


def gap_of(pdf: bytes) -> range:
    """Where the signature's own hex string lies, which is not hashed."""
    (found,) = re.finditer(rb"/ByteRange \[0 (\d+) (\d+) \d+\]", pdf)
    return range(int(found[1]), int(found[2]))


@pytest.mark.parametrize("flips", FLIPS)
def test_no_flipped_byte_in_the_signed_range_is_accepted(
    signed: bytes, keystore: KeyStore, flips: int
) -> None:
    assert check(signed, keystore).genuine
    chance = random.Random(SEED)
    gap = gap_of(signed)
    places = chance.sample([place for place in range(len(signed)) if place not in gap], flips)
    accepted = [place for place in places if check(_flip(signed, place, chance), keystore).genuine]
    assert accepted == []


@pytest.mark.parametrize("flips", FLIPS)
def test_no_flipped_byte_of_the_signature_itself_is_accepted(
    signed: bytes, keystore: KeyStore, flips: int
) -> None:
    chance = random.Random(SEED)
    gap = gap_of(signed)
    made = range(gap.start, gap.start + 2 * CONTAINER)
    places = [*chance.sample(made, flips), *chance.sample(gap, 50), gap[0], gap[-1]]
    accepted = [place for place in places if check(_flip(signed, place, chance), keystore).genuine]
    assert accepted == []


def _flip(data: bytes, place: int, chance: random.Random) -> bytes:
    changed = bytearray(data)
    changed[place] ^= 1 << chance.randrange(8)
    return bytes(changed)


def test_no_cut_file_is_accepted(signed: bytes, keystore: KeyStore) -> None:
    chance = random.Random(SEED)
    lengths = [*chance.sample(range(len(signed)), 60), len(signed) - 1]
    assert not any(check(signed[:length], keystore).genuine for length in lengths)


def test_hex_digits_in_other_letters_are_seen(signed: bytes, keystore: KeyStore) -> None:
    gap = gap_of(signed)
    lowered = signed[: gap.start] + signed[gap.start : gap.stop].lower() + signed[gap.stop :]
    assert lowered != signed
    assert check(lowered, keystore).faults == [verdict.NOT_WHOLE]


@pytest.mark.parametrize("tail", [b"\n", b" ", b"%%EOF\n", b"% a remark"])
def test_bytes_after_the_end_are_seen(signed: bytes, keystore: KeyStore, tail: bytes) -> None:
    assert not check(signed + tail, keystore).genuine


def _change_title(writer: Any) -> None:
    writer.root["/Lang"] = generic.TextStringObject("de-AT")
    writer.update_root()


def _change_page(writer: Any) -> None:
    page = writer.root["/Pages"]["/Kids"][0]
    page["/MediaBox"] = generic.ArrayObject([*page["/MediaBox"]][::-1])
    writer.update_container(page)


def _change_attachment(writer: Any) -> None:
    file = writer.root["/Names"]["/EmbeddedFiles"]["/Names"][1]["/EF"].raw_get("/F")
    stream = generic.StreamObject(stream_data=canonical(make_record(holder={"name": "Eve"})))
    writer.objects[(file.generation, file.idnum)] = stream


@pytest.mark.parametrize("change", [_change_title, _change_page, _change_attachment])
def test_incremental_updates_are_seen(
    signed: bytes, keystore: KeyStore, change: Callable[[Any], None]
) -> None:
    writer: Any = IncrementalPdfFileWriter(BytesIO(signed))
    change(writer)
    output = BytesIO()
    writer.write(output)
    assert output.getvalue().startswith(signed)
    assert verdict.NOT_WHOLE in check(output.getvalue(), keystore).faults


def _resaved(data: bytes, change: Callable[[pikepdf.Pdf], None]) -> bytes:
    output = BytesIO()
    with pikepdf.open(BytesIO(data)) as pdf:
        change(pdf)
        pdf.save(output)
    return output.getvalue()


def _swap_attachment(pdf: pikepdf.Pdf) -> None:
    names = pdf.Root.Names.EmbeddedFiles.Names
    names[1].EF.F.write(canonical(make_record(holder={"name": "Eve"})))


def _strip(pdf: pikepdf.Pdf) -> None:
    del pdf.Root.AcroForm.Fields[0]["/V"]
    del pdf.Root["/Perms"]


def test_a_stripped_signature_is_seen(signed: bytes, keystore: KeyStore) -> None:
    assert check(_resaved(signed, _strip), keystore).faults == [verdict.NO_SIGNATURE]


def test_a_swapped_attachment_is_seen(signed: bytes, keystore: KeyStore) -> None:
    assert verdict.ALTERED in check(_resaved(signed, _swap_attachment), keystore).faults


def test_a_signature_from_another_record_is_seen(
    signed: bytes, keystore: KeyStore, record: Document
) -> None:
    """The same layout, another name of the same length, and the first file's signature."""
    name = record["holder"]["name"]
    other = sign_it(render({**record, "holder": {"name": f"Eve{name[3:]}"}}), keystore)
    assert check(other, keystore).genuine
    source, target = gap_of(signed), gap_of(other)
    assert len(source) == len(target)
    spliced = other[: target.start] + signed[source.start : source.stop] + other[target.stop :]
    assert check(spliced, keystore).faults == [verdict.ALTERED]


def test_a_second_signature_is_seen(unsigned: bytes, keystore: KeyStore) -> None:
    """Two signatures by the issuer's own key, both valid: still not how records are made."""
    key = _KeySigner(keystore.identity(at=SIGNED_AT))
    data = unsigned
    for name in ("issuer_signature", "another"):
        about = PdfSignatureMetadata(field_name=name, md_algorithm="sha256")
        data = PdfSigner(about, key).sign_pdf(IncrementalPdfFileWriter(BytesIO(data))).getvalue()
    assert check(data, keystore).faults == [verdict.SEVERAL_SIGNATURES]


def test_a_signature_that_permits_changes_is_no_record(unsigned: bytes, keystore: KeyStore) -> None:
    about = PdfSignatureMetadata(field_name="issuer_signature", md_algorithm="sha256")
    key = _KeySigner(keystore.identity(at=SIGNED_AT))
    plain = PdfSigner(about, key).sign_pdf(IncrementalPdfFileWriter(BytesIO(unsigned)))
    faults = verify(plain.getvalue(), keystore.roots()).faults
    assert verdict.NOT_A_RECORD_SIGNATURE in faults
