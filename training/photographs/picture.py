"""A decoded picture as it is kept: upright, in the colours of sRGB, and without anything else."""

import struct
from io import BytesIO

from PIL import Image, ImageCms, ImageOps

WHITE = (255, 255, 255)


def upright_rgb(picture: Image.Image) -> Image.Image:
    """Return a new picture of the same sight that holds pixels alone."""
    colours = _in_srgb(_upright(picture))
    if colours.mode in ("RGBA", "LA", "PA", "P"):
        colours = colours.convert("RGBA")
        kept = Image.new("RGB", colours.size, WHITE)
        kept.paste(colours, mask=colours.getchannel("A"))
        return kept
    kept = Image.new("RGB", colours.size, WHITE)
    kept.paste(colours.convert("RGB"))
    return kept


def _upright(picture: Image.Image) -> Image.Image:
    """Turn it as its Exif data say (Exif 2.32, 4.6.4, Orientation); broken ones turn nothing."""
    try:
        return ImageOps.exif_transpose(picture)
    except (OSError, SyntaxError, ValueError, KeyError, TypeError, struct.error):
        return picture


def _in_srgb(picture: Image.Image) -> Image.Image:
    """Return it in sRGB where it names other colours that can be read; else as it is."""
    profile = picture.info.get("icc_profile")
    if not isinstance(profile, bytes) or picture.mode not in ("RGB", "CMYK"):
        return picture
    try:
        changed = ImageCms.profileToProfile(
            picture, ImageCms.ImageCmsProfile(BytesIO(profile)), ImageCms.createProfile("sRGB"),
            outputMode="RGB",
        )  # fmt: skip
    except (ImageCms.PyCMSError, OSError, ValueError):
        return picture
    return picture if changed is None else changed
