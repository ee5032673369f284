"""What is kept of the photograph of a sheet: the picture, and nothing of where it was taken."""

from hashlib import sha256
from io import BytesIO

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from PIL import Image, PngImagePlugin
from PIL.ExifTags import IFD, Base

from tests.assessments.site.pictures import exif, jpeg
from training.scans import MEGABYTE, Scan, read_scan

XMP = b"http://ns.adobe.com/xap/1.0/\0<x:xmpmeta><exif:GPSLatitude>44,38N</exif:GPSLatitude>"


def scan(content: bytes, name: str = "sheet.jpg") -> Scan:
    return read_scan(SimpleUploadedFile(name, content), most=MEGABYTE)


def points(content: bytes) -> bytes:
    with Image.open(BytesIO(content)) as picture:
        return picture.tobytes()


@pytest.mark.parametrize("turned", [1, 6])
def test_a_photograph_keeps_its_picture_and_its_turn_and_no_place(turned: int) -> None:
    tags: dict[int, object] = {Base.Orientation: turned, Base.Model: "Pocket camera"}
    sent = jpeg(exif=exif(tags, gps=True), comment=b"At the customs house")
    sent = (
        sent[:2] + b"\xff\xe1" + (len(XMP) + 2).to_bytes(2) + XMP + sent[2:] + b"a second picture"
    )
    kept = scan(sent)
    with Image.open(BytesIO(kept.content)) as picture:
        said = picture.getexif()
        assert not said.get_ifd(IFD.GPSInfo)
        assert dict(said) == ({Base.Orientation: turned} if turned != 1 else {})
        assert "comment" not in picture.info
    for told in (b"GPS", b"Pocket", b"customs", b"second"):
        assert told in sent
        assert told not in kept.content
    assert points(kept.content) == points(sent)
    assert kept.sha256 == sha256(kept.content).hexdigest() != sha256(sent).hexdigest()


def test_a_scan_as_png_keeps_its_picture_and_no_words() -> None:
    words = PngImagePlugin.PngInfo()
    words.add_itxt("XML:com.adobe.xmp", "<exif:GPSLatitude>44,38N</exif:GPSLatitude>")
    words.add_text("Comment", "At the customs house")
    target = BytesIO()
    with Image.effect_noise((40, 30), 60) as picture:
        picture.save(target, "PNG", pnginfo=words, exif=exif({Base.Model: "Pocket"}, gps=True))
    sent = target.getvalue() + b"more"
    assert b"eXIf" in sent
    kept = scan(sent, "sheet.png").content
    for told in (b"eXIf", b"GPS", b"customs", b"more"):
        assert told not in kept
    assert points(kept) == points(sent)
    assert kept.endswith(b"IEND\xaeB`\x82")


def test_what_says_nothing_stays_as_it_is() -> None:
    for content, name in ((jpeg(), "a.jpg"), (b"%PDF-1.7\n%%EOF", "a.pdf")):
        assert scan(content, name).content == content
