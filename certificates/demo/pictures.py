"""Drawn pictures that stand for photographs in the demo: no picture of anybody's wall is needed."""

from collections.abc import Callable

from PIL import Image, ImageDraw

SIZE = (1200, 900)
STONE, DARK, JOINT, FRESH = (196, 170, 132), (120, 98, 70), (92, 84, 74), (214, 190, 152)
BURLAP = (150, 126, 88)
# The sill, the loss in it, and the piece that fits, in pixels.
SILL, LOSS, PIECE = (60, 320, 1140, 640), (430, 320, 770, 520), (440, 320, 760, 510)


def picture(name: str) -> Image.Image:
    """Return the drawn picture of that name; KeyError for another."""
    image = Image.new("RGB", SIZE, (226, 222, 214))
    draw = ImageDraw.Draw(image)
    draw.rectangle(SILL, fill=STONE, outline=DARK, width=4)
    for y in range(SILL[1] + 40, SILL[3], 40):  # the bedding
        draw.line((SILL[0] + 4, y, SILL[2] - 4, y), fill=(186, 160, 122), width=2)
    DRAWN[name](draw)
    return image


def _cavity(draw: ImageDraw.ImageDraw) -> None:
    draw.rectangle(LOSS, fill=DARK, outline=(60, 48, 34), width=4)


def _dry_fit(draw: ImageDraw.ImageDraw) -> None:
    _cavity(draw)
    draw.rectangle(PIECE, fill=FRESH, outline=DARK, width=3)
    for x in (430, 760):  # wedges in the joint
        draw.polygon([(x, 320), (x + 10, 320), (x + 5, 380)], fill=(220, 60, 40))


def _bonded(draw: ImageDraw.ImageDraw) -> None:
    draw.rectangle(LOSS, fill=JOINT)
    draw.rectangle(PIECE, fill=FRESH, outline=DARK, width=2)


def _finished(draw: ImageDraw.ImageDraw) -> None:
    _bonded(draw)
    for x in range(80, 1130, 18):  # the old tooling, carried across the joint
        draw.line((x, 330, x + 24, 630), fill=(170, 144, 106), width=2)


def _protected(draw: ImageDraw.ImageDraw) -> None:
    for x in range(380, 830, 14):
        draw.line((x, 270, x, 620), fill=BURLAP, width=9)
    for y in range(270, 620, 14):
        draw.line((380, y, 830, y), fill=(128, 106, 72), width=4)


DRAWN: dict[str, Callable[[ImageDraw.ImageDraw], None]] = {
    "cavity": _cavity,
    "dry fit": _dry_fit,
    "bonded": _bonded,
    "finished": _finished,
    "protected": _protected,
}
