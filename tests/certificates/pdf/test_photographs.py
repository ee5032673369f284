"""Photographs in the competency record: small, described, each beside what it shows."""

import hashlib
from io import BytesIO

import pikepdf
import pytest
from PIL import Image, ImageStat

from certificates.rendering import RenderingError, render
from certificates.rendering.pictures import LARGEST, LARGEST_TOGETHER, largest_each, small_jpeg
from certificates.signing import KeyStore, verify
from tests.certificates.pdf.conftest import CHECKED_AT, sign_it
from tests.certificates.pdf.factory import Document, make_record
from tests.certificates.pdf.photographs import photograph, row
from tests.certificates.pdf.test_conformance import ACCESS, ARCHIVE, faults
from tests.certificates.pdf.tools import text_of
from tests.faults.marks import at_length


@pytest.fixture(scope="module")
def photographs() -> list[bytes]:
    """Return three photographs, of which one stands upright."""
    return [photograph(), photograph(1200, 1600), photograph(spread=90)]


@pytest.fixture(scope="module")
def record(photographs: list[bytes]) -> Document:
    """Return a record with a photograph of the face, one of the hold point and two of the bed."""
    first, upright, last = photographs
    rows = [
        row(first, "criterion", "face", 1),
        row(upright, "hold_point", "dry_fit", 2),
        row(last, "criterion", "bed", 3),
        row(b"not sent yet", "criterion", "bed", 4),
    ]
    return make_record(photos=rows)


@pytest.fixture(scope="module")
def shown(record: Document, photographs: list[bytes]) -> bytes:
    """Return the competency record of it."""
    given = {hashlib.sha256(data).hexdigest(): data for data in photographs}
    return render(record, kind="competency", photographs=given)


def images(pdf: bytes) -> list[bytes]:
    """Return the JPEG files inside the PDF, as they are embedded."""
    with pikepdf.open(BytesIO(pdf)) as opened:
        return [
            thing.read_raw_bytes()
            for thing in opened.objects
            if isinstance(thing, pikepdf.Stream) and thing.get("/Subtype") == "/Image"
        ]


def test_each_photograph_is_embedded_small(shown: bytes) -> None:
    found = images(shown)
    assert len(found) == 3
    for data in found:
        assert len(data) <= LARGEST
        with Image.open(BytesIO(data)) as image:
            assert image.format == "JPEG"
            assert max(image.size) <= 900
            assert not image.getexif()


def test_captions_say_stage_who_and_when(shown: bytes) -> None:
    text = text_of(shown)
    # In the order of the pages: the bed and the hold point of its stage before the face.
    said = "Taken by Imani Castellane, September 24, 2026, 10:02 UTC-04:00 as claimed."
    assert text.count(said) == 4
    assert [f"Photograph {number}" in text for number in range(1, 6)] == [True] * 4 + [False]
    assert text.index("Piece lies on its natural bed") < text.index("Photograph 2")
    assert text.count("Its bytes had not come from the device when this record was issued.") == 1
    assert "record.json names the SHA-256 of each as it was taken in" in text


def test_each_photograph_is_described(shown: bytes) -> None:
    with pikepdf.open(BytesIO(shown)) as pdf:
        said = [
            str(thing["/Alt"])
            for thing in pdf.objects
            if isinstance(thing, pikepdf.Dictionary) and thing.get("/S") == "/Figure"
        ]
    described = [one for one in said if one.startswith("Photograph ")]
    assert len(described) == 3
    assert any("Face proud of the old work before dressing." in one for one in described)
    assert any("Hold point" in one for one in described)


@pytest.mark.parametrize("profile", [ARCHIVE, ACCESS])
def test_with_photographs_the_signed_file_conforms(
    shown: bytes, record: Document, keystore: KeyStore, profile: str
) -> None:
    signed = sign_it(shown, keystore)
    assert faults(signed, profile) == []
    verdict = verify(signed, keystore.roots(), now=CHECKED_AT)
    assert verdict.faults == []
    assert verdict.record == record


def test_the_certificate_shows_none(record: Document, photographs: list[bytes]) -> None:
    given = {hashlib.sha256(data).hexdigest(): data for data in photographs}
    pdf = render(record, photographs=given)
    assert images(pdf) == []
    assert "Photograph" not in text_of(pdf)


@pytest.mark.parametrize("many", [60, *at_length(120)])
def test_many_photographs_stay_within_what_is_verified(
    record: Document, photographs: list[bytes], keystore: KeyStore, many: int
) -> None:
    assert many * LARGEST > LARGEST_TOGETHER + 500_000
    first = photographs[0]
    rows = [row(first, "criterion", "face", number) for number in range(many)]
    # Each a file of its own: bytes after the end of a JPEG are read by nobody.
    given = {}
    for number, one in enumerate(rows):
        data = first + b"%d" % number
        one["sha256"] = hashlib.sha256(data).hexdigest()
        given[one["sha256"]] = data
    pdf = render({**record, "photos": rows}, kind="competency", photographs=given)
    assert text_of(pdf).count("as claimed.") == many
    signed = sign_it(pdf, keystore)
    assert len(signed) < LARGEST_TOGETHER + 500_000
    assert verify(signed, keystore.roots(), now=CHECKED_AT).faults == []


def test_how_much_each_may_take() -> None:
    assert largest_each(0) == largest_each(1) == largest_each(41) == LARGEST
    assert largest_each(100) == LARGEST_TOGETHER // 100


def test_a_photograph_is_turned_upright() -> None:
    # Exif 2.32, 4.6.4: orientation 6 is shown after a quarter turn clockwise.
    picture = Image.new("RGB", (400, 200), "white")
    picture.paste("black", (0, 0, 200, 200))
    exif = Image.Exif()
    exif[0x0112] = 6
    output = BytesIO()
    picture.save(output, "JPEG", exif=exif)
    with Image.open(BytesIO(small_jpeg(output.getvalue(), LARGEST))) as small:
        assert small.size == (200, 400)
        halves = [small.crop((0, 0, 200, 200)), small.crop((0, 200, 200, 400))]
        assert [ImageStat.Stat(half).mean[0] < 100 for half in halves] == [True, False]


def test_a_photograph_of_four_inks_becomes_one_of_three_colours() -> None:
    output = BytesIO()
    Image.new("CMYK", (300, 300), (0, 255, 0, 0)).save(output, "JPEG")
    with Image.open(BytesIO(small_jpeg(output.getvalue(), LARGEST))) as small:
        assert small.mode == "RGB"


@pytest.mark.parametrize("data", [b"", b"GIF89a", photograph()[:5000]])
def test_bytes_that_are_no_photograph_are_refused(data: bytes) -> None:
    with pytest.raises(RenderingError, match="cannot be read as a JPEG"):
        small_jpeg(data, LARGEST)


def test_what_cannot_be_made_so_small_is_refused() -> None:
    with pytest.raises(RenderingError, match="more photographs than a record can hold"):
        small_jpeg(photograph(), 300)


def test_a_photograph_of_something_else_is_refused() -> None:
    record = make_record(photos=[row(b"", "criterion", "elsewhere")])
    with pytest.raises(RenderingError, match=r"no criterion 'elsewhere'.*build it again"):
        render(record, kind="competency")
