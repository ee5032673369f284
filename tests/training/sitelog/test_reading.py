"""Reading photographs: Pillow makes the files and says what came of them."""

import io
import tracemalloc
from datetime import UTC, datetime, timedelta, timezone
from typing import Any

import pytest
import weasyprint  # noqa: F401 (it makes Pillow accept cut pictures, in the whole process)
from django.core.files.base import ContentFile
from PIL import Image, ImageCms, ImageFile
from PIL.ExifTags import IFD, Base

from tests.assessments.site.pictures import claiming, exif, jpeg, with_segment
from training.errors import Refused
from training.photographs import LARGEST, LONGEST_SIDE, Photograph, read_photograph

RED, BLUE = (200, 20, 20), (20, 20, 200)


def read(data: bytes) -> Photograph:
    return read_photograph(ContentFile(data), field="file")


def refusal(data: bytes) -> str:
    with pytest.raises(Refused) as refused:
        read(data)
    assert refused.value.field == "file"
    return refused.value.message


def encoded(kind: str, picture: Image.Image, **options: Any) -> bytes:
    target = io.BytesIO()
    picture.save(target, kind, **options)
    return target.getvalue()


def two_halves(width: int = 400, height: int = 200) -> Image.Image:
    """Return a picture whose left half is red and whose right half is blue."""
    picture = Image.new("RGB", (width, height), BLUE)
    picture.paste(RED, (0, 0, width // 2, height))
    return picture


def colour(photograph: Photograph, at: tuple[float, float]) -> str:
    with Image.open(io.BytesIO(photograph.content)) as picture:
        place = (int(at[0] * picture.width), int(at[1] * picture.height))
        pixel = picture.convert("RGB").getpixel(place)
    assert isinstance(pixel, tuple)
    return "red" if pixel[0] > pixel[2] else "blue"


# Exif 2.32, 4.6.4: where the 0th row and the 0th column of the stored picture are to be seen;
# the red half is stored on the left.
TURNED = {
    1: ("left", (400, 200)),
    2: ("right", (400, 200)),
    3: ("right", (400, 200)),
    4: ("left", (400, 200)),
    5: ("top", (200, 400)),
    6: ("top", (200, 400)),
    7: ("bottom", (200, 400)),
    8: ("bottom", (200, 400)),
}
SIDES = {"left": (0.1, 0.5), "right": (0.9, 0.5), "top": (0.5, 0.1), "bottom": (0.5, 0.9)}


@pytest.mark.parametrize("orientation", TURNED)
def test_a_rotated_photograph_is_turned_upright(orientation: int) -> None:
    side, size = TURNED[orientation]
    data = encoded("JPEG", two_halves(), exif=exif({Base.Orientation: orientation}))
    found = read(data)
    assert (found.width, found.height) == size
    assert {name for name, at in SIDES.items() if colour(found, at) == "red"} >= {side}
    opposite = {"left": "right", "right": "left", "top": "bottom", "bottom": "top"}[side]
    assert colour(found, SIDES[opposite]) == "blue"


def test_a_place_and_all_other_metadata_are_dropped() -> None:
    tags = exif({Base.Make: "Steinbruch", Base.Artist: "Aranka"}, gps=True)
    data = encoded("JPEG", two_halves(), exif=tags, comment=b"by the north door", dpi=(300, 300))
    data = with_segment(data, 0xE1, b"http://ns.adobe.com/xap/1.0/\0<x>latitude</x>")
    data = with_segment(data, 0xED, b"Photoshop 3.0\x00caption")
    with Image.open(io.BytesIO(data)) as sent:
        assert sent.getexif().get_ifd(IFD.GPSInfo)
    kept = read(data).content
    with Image.open(io.BytesIO(kept)) as picture:
        assert dict(picture.getexif()) == {}
        assert picture.getexif().get_ifd(IFD.GPSInfo) == {}
        assert set(picture.info) <= {"jfif", "jfif_version", "jfif_unit", "jfif_density"}
    for word in (b"Exif", b"latitude", b"Photoshop", b"north door", b"Steinbruch", b"Aranka"):
        assert word not in kept


@pytest.mark.parametrize("kind", ["PNG", "WEBP"])
def test_a_png_and_a_webp_become_a_jpeg_without_their_place(kind: str) -> None:
    found = read(encoded(kind, two_halves(), exif=exif({}, gps=True)))
    assert found.content.startswith(b"\xff\xd8\xff")
    assert b"Exif" not in found.content
    assert colour(found, SIDES["left"]) == "red"


def test_what_is_seen_through_is_laid_on_white() -> None:
    found = read(encoded("PNG", Image.new("RGBA", (40, 40), (0, 0, 0, 0))))
    with Image.open(io.BytesIO(found.content)) as picture:
        assert picture.getpixel((20, 20)) == (255, 255, 255)


def test_other_colours_are_brought_to_srgb() -> None:
    lab = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
    found = read(encoded("JPEG", two_halves(), icc_profile=lab))
    assert b"ICC_PROFILE" not in found.content
    assert colour(found, SIDES["right"]) == "blue"


def test_a_large_photograph_is_kept_small() -> None:
    found = read(encoded("JPEG", two_halves(4000, 3000)))
    assert (found.width, found.height) == (LONGEST_SIDE, LONGEST_SIDE * 3 // 4)
    small = read(encoded("JPEG", two_halves(400, 300)))
    assert (small.width, small.height) == (400, 300)


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP"])
@pytest.mark.parametrize("share", [0.02, 0.5, 0.95])
def test_a_truncated_photograph_is_refused_though_others_have_pillow_accept_it(
    kind: str, share: float
) -> None:
    assert ImageFile.LOAD_TRUNCATED_IMAGES  # set by WeasyPrint
    data = encoded(kind, Image.effect_noise((300, 200), 60).convert("RGB"))
    assert "no whole photograph" in refusal(data[: int(len(data) * share)])
    assert ImageFile.LOAD_TRUNCATED_IMAGES


@pytest.mark.parametrize(
    "data", [b"Minutes of the meeting", b"<svg/>", b"\xff\xd8\xff", b"\x89PNG"]
)
def test_a_photo_that_is_no_photo_is_refused(data: bytes) -> None:
    assert "no picture at all" in refusal(data)


def test_an_empty_file_is_refused() -> None:
    assert "This file is empty" in refusal(b"")


def test_a_heic_is_told_what_to_do() -> None:
    # The head of a HEIC file: ISO/IEC 14496-12, 4.3, with a brand of ISO/IEC 23008-12.
    said = refusal(b"\x00\x00\x00\x18ftypheic\x00\x00\x00\x00mif1heic" + b"\0" * 100)
    assert "HEIC" in said
    assert "choose JPEG" in said


@pytest.mark.parametrize("kind", ["GIF", "TIFF", "BMP"])
def test_another_kind_is_named(kind: str) -> None:
    assert f"This is a {kind}" in refusal(encoded(kind, two_halves(40, 40)))


class Unread(ContentFile[bytes]):
    """A file that must not be read."""

    def read(self, *args: Any) -> bytes:
        raise AssertionError("It was read.")


def test_a_file_of_100_mb_is_refused_unread() -> None:
    file = Unread(b"\xff\xd8\xff")
    file.size = 100 * 1024 * 1024
    with pytest.raises(Refused, match="This file has 100 MB: 25 MB at most"):
        read_photograph(file)


def test_the_largest_file_is_still_read() -> None:
    data = encoded("JPEG", two_halves())
    assert read(data + b"\0" * (LARGEST - len(data))).width == 400
    assert "26 MB" in refusal(data + b"\0" * (LARGEST - len(data) + 1))


def test_a_decompression_bomb_is_refused_undecoded() -> None:
    bomb = encoded("PNG", Image.new("1", (20_000, 20_000)), optimize=True)
    assert len(bomb) < 100_000
    tracemalloc.start()
    try:
        refusal(bomb)
        peak = tracemalloc.get_traced_memory()[1]
    finally:
        tracemalloc.stop()
    assert peak < 5_000_000
    said = refusal(claiming(jpeg(), 9000, 9000))
    assert "9000 × 9000 pixels: 60 million" in said
    assert "5001 × 5000 pixels: 25 million" in refusal(encoded("PNG", Image.new("1", (5001, 5000))))


def test_nothing_can_be_seen_on_a_few_pixels() -> None:
    assert "nothing can be seen" in refusal(jpeg(15, 400))


def test_the_camera_tells_when() -> None:
    told = exif({})
    told.get_ifd(IFD.Exif)[Base.DateTimeOriginal] = "2026:11:03 10:15:30"
    assert read(jpeg(exif=told)).taken == datetime(2026, 11, 3, 10, 15, 30)  # noqa: DTZ001
    told.get_ifd(IFD.Exif)[Base.OffsetTimeOriginal] = "-05:00"
    taken = read(jpeg(exif=told)).taken
    assert taken is not None
    assert taken.utcoffset() == timedelta(hours=-5)
    assert taken.astimezone(UTC) == datetime(2026, 11, 3, 15, 15, 30, tzinfo=timezone.utc)  # noqa: UP017


@pytest.mark.parametrize("text", ["0000:00:00 00:00:00", "yesterday", "    :  :     :  :  ", ""])
def test_a_moment_that_cannot_be_read_is_none(text: str) -> None:
    told = exif({})
    told.get_ifd(IFD.Exif)[Base.DateTimeOriginal] = text
    assert read(jpeg(exif=told)).taken is None


def test_broken_exif_data_break_nothing() -> None:
    data = with_segment(encoded("JPEG", two_halves()), 0xE1, b"Exif\0\0II*\0\xff\xff\xff\xff junk")
    assert (read(data).width, read(data).taken) == (400, None)
