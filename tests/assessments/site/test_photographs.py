"""What is kept as a photograph and what is not, whatever the bytes claim to be."""

import io

import pytest
from PIL import Image, ImageFile

from assessments.photographs import LARGEST_BYTES, NO_CAPTION, check_photograph
from tests.assessments.site.pictures import (
    claiming,
    exif,
    jpeg,
    png,
    segment,
    with_segment,
    without_tables,
)
from training.errors import Refused

STONE = jpeg()
XMP = b"http://ns.adobe.com/xap/1.0/\0<x:xmpmeta/>"


@pytest.mark.parametrize(
    ("data", "size"),
    [
        (STONE, (80, 60)),
        (jpeg(progressive=True), (80, 60)),
        (jpeg(restart_marker_rows=1), (80, 60)),
        (jpeg(exif=exif({0x0112: 6})), (80, 60)),  # held upright: turned when shown
        (jpeg(icc_profile=b"x" * 200), (80, 60)),
        (with_segment(STONE, 0xED, NO_CAPTION), (80, 60)),
        (jpeg(4000, 16), (4000, 16)),
    ],
    ids=["baseline", "progressive", "restarts", "rotated", "colours", "iphone", "long"],
)
def test_a_photograph_is_taken(data: bytes, size: tuple[int, int]) -> None:
    assert check_photograph(data) == size


@pytest.mark.parametrize(
    ("data", "said"),
    [
        (b"", "not a JPEG"),
        (b"A note, not a photograph.", "not a JPEG"),
        (png(), "not a JPEG"),
        (b"GIF89a" + STONE, "not a JPEG"),
        (b"%PDF-1.7\n" + STONE, "not a JPEG"),
        (b"\xff\xd8\xff", "cut short"),
        (b"\xff\xd8\xff\xd9", "cut short"),
        (b"\xff\xd8\xff" + b"\xff" * 5000, "cut short"),
        (STONE[:-2], "cut short"),
        (STONE[: len(STONE) // 2], "cut short"),
        (STONE[:40], "cut short"),
        (without_tables(STONE), "cut short or damaged"),
        (claiming(STONE, 20000, 20000), "claims 20000 × 20000 pixels"),
        (claiming(STONE, 65535, 65535), "claims 65535"),
        (claiming(STONE, 5000, 5000), "16 million"),
        (claiming(STONE, 0, 60), "nothing can be seen"),
        (jpeg(8, 8), "nothing can be seen"),
        (STONE + b"PK\x03\x04 a zip begins", "bytes after its end"),
        (STONE + b"<script>alert(1)</script>\xff\xd9", "bytes after its end"),
        (STONE + jpeg(), "bytes after its end"),
        (jpeg(comment=b"<html>"), "a comment"),
        (with_segment(STONE, 0xE2, b"MPF\0more"), "further pictures"),
        (with_segment(STONE, 0xEB, b"JP"), "a segment APP11"),
        (STONE[:-2] + segment(0xEB, b"late") + b"\xff\xd9", "a segment APP11"),
        (b"\xff\xd8\xff" + b"0" * LARGEST_BYTES, "at most 409600"),
    ],
    ids=lambda each: each[:12] if isinstance(each, str) else "",
)
def test_what_is_no_whole_photograph_is_refused(
    data: bytes, said: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    # As WeasyPrint sets it for the whole process, once a document was made.
    monkeypatch.setattr(ImageFile, "LOAD_TRUNCATED_IMAGES", True)
    with pytest.raises(Refused, match=said):
        check_photograph(data)


@pytest.mark.parametrize(
    ("data", "what"),
    [
        (jpeg(exif=exif({}, gps=True)), "GPS"),
        (with_segment(STONE, 0xE1, b"Exif\0\0MM broken \x88\x25\0\x04\0\0\0\1"), "GPS"),
        (with_segment(STONE, 0xE1, b"Exif\0\0II broken \x25\x88\x04\0\1\0\0\0"), "GPS"),
        (with_segment(STONE, 0xE1, XMP), "XMP"),
        (with_segment(jpeg(exif=exif({0x0112: 6})), 0xE1, XMP), "XMP"),
        (
            with_segment(STONE, 0xED, b"Photoshop 3.0\x008BIM\x04\x04\0\0\0\0\0\x04city"),
            "a caption",
        ),
    ],
    ids=["gps", "broken-big", "broken-little", "xmp", "exif-and-xmp", "iptc"],
)
def test_what_tells_a_place_is_refused_and_the_sentence_says_why(data: bytes, what: str) -> None:
    with pytest.raises(Refused, match=rf"where it was taken \({what}.*The device strips this"):
        check_photograph(data)


def test_notes_of_the_camera_are_refused() -> None:
    noted = Image.Exif()
    noted.get_ifd(0x8769)[0x9286] = b"ASCII\0\0\0by the north door"
    with pytest.raises(Refused, match="notes of the camera"):
        check_photograph(jpeg(exif=noted))


def test_pillow_reads_the_place_that_was_refused() -> None:
    """The refused file really holds a place: Pillow, the general library, reads it back."""
    with Image.open(io.BytesIO(jpeg(exif=exif({}, gps=True)))) as image:
        assert image.getexif().get_ifd(0x8825)[1] == "N"
