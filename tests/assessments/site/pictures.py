"""JPEG files of many makes for the tests, made by Pillow: a noisy stone."""

import hashlib
import io
import struct
import zlib

from PIL import Image


def jpeg(width: int = 80, height: int = 60, **options: object) -> bytes:
    """Return a JPEG that Pillow wrote; ``options`` are those of its ``save``."""
    stone = Image.effect_noise((width, height), 60).convert("RGB")
    target = io.BytesIO()
    stone.save(target, "JPEG", **{"quality": 70, **options})
    return target.getvalue()


def sha256(data: bytes) -> str:
    """Return the digest by which bytes are sent."""
    return hashlib.sha256(data).hexdigest()


def exif(tags: dict[int, object], gps: bool = False) -> Image.Exif:
    """Return Exif data with ``tags``; with ``gps``, a place in it."""
    made = Image.Exif()
    for tag, value in tags.items():
        made[tag] = value
    if gps:
        made.get_ifd(0x8825).update({1: "N", 2: (44.0, 38.0, 0.0), 3: "W", 4: (67.0, 12.0, 0.0)})
    return made


def segment(marker: int, content: bytes) -> bytes:
    """Return one segment of a JPEG file."""
    return bytes((0xFF, marker)) + struct.pack(">H", len(content) + 2) + content


def with_segment(data: bytes, marker: int, content: bytes) -> bytes:
    """Return the file with a segment put in right after its start."""
    return data[:2] + segment(marker, content) + data[2:]


def without_tables(data: bytes) -> bytes:
    """Return the file without its quantization tables: whole to look at, and not to be decoded."""
    while (place := data.find(b"\xff\xdb\0C")) != -1:
        data = data[:place] + data[place + 2 + 0x43 :]
    return data


def claiming(data: bytes, width: int, height: int) -> bytes:
    """Return the file with another size written into its frame header."""
    place = next(i for i in range(len(data)) if data[i] == 0xFF and data[i + 1] in (0xC0, 0xC2))
    return data[: place + 5] + struct.pack(">HH", height, width) + data[place + 9 :]


def png() -> bytes:
    """Return the smallest PNG, written by hand."""

    def chunk(name: bytes, content: bytes) -> bytes:
        whole = name + content
        return struct.pack(">I", len(content)) + whole + struct.pack(">I", zlib.crc32(whole))

    head = chunk(b"IHDR", struct.pack(">IIBBBBB", 1, 1, 8, 0, 0, 0, 0))
    return (
        b"\x89PNG\r\n\x1a\n" + head + chunk(b"IDAT", zlib.compress(b"\0\0")) + chunk(b"IEND", b"")
    )
