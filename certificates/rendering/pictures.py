"""Photographs made small enough for a document that is sent by e-mail and kept for decades."""

from base64 import b64encode
from io import BytesIO

from PIL import Image, ImageOps

from certificates.rendering.errors import RenderingError
from training.pictures import only_whole

# Three photographs stand beside each other on a page: 900 pixels print at over 400 a 2.1 in.
LONGEST_SIDE = 900
LARGEST = 60_000
# All photographs of a record together; verification takes up to 4 MiB.
LARGEST_TOGETHER = 2_500_000
QUALITIES = (78, 66, 54, 42)
SHRINK = 0.75
SMALLEST_SIDE = 120


def largest_each(number: int) -> int:
    """Bytes that each of ``number`` photographs may take."""
    return min(LARGEST, LARGEST_TOGETHER // max(1, number))


def small_jpeg(data: bytes, most: int) -> bytes:
    """Return a JPEG photograph of at most ``most`` bytes, upright and without metadata.

    Raises RenderingError for bytes that are no whole JPEG, or that cannot be made so small.
    """
    try:
        with only_whole(), Image.open(BytesIO(data), formats=["JPEG"]) as image:
            image.draft("RGB", (LONGEST_SIDE, LONGEST_SIDE))
            picture = ImageOps.exif_transpose(image).convert("RGB")
    except (OSError, SyntaxError, ValueError) as error:
        raise RenderingError(
            "A photograph of the attempt cannot be read as a JPEG. Ask whoever runs the server "
            "to put back the file that was taken in."
        ) from error
    side = LONGEST_SIDE
    while side >= SMALLEST_SIDE:
        picture.thumbnail((side, side))
        for quality in QUALITIES:
            output = BytesIO()
            picture.save(output, "JPEG", quality=quality, optimize=True)
            if output.tell() <= most:
                return output.getvalue()
        side = int(side * SHRINK)
    raise RenderingError("The attempt has more photographs than a record can hold.")


def as_source(jpeg: bytes) -> str:
    """Return the ``src`` of an image that holds its own bytes."""
    return f"data:image/jpeg;base64,{b64encode(jpeg).decode('ascii')}"
