"""Pictures of kinds that are not read here, told apart by how they begin."""

from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop as N_

HEIF = {b"heic", b"heix", b"heim", b"heis", b"hevc", b"hevx", b"mif1", b"msf1", b"avif", b"avis"}
OTHERS = (
    (b"GIF8", N_("a GIF file")),
    (b"BM", N_("a BMP file")),
    (b"II*\0", N_("a TIFF file, or what a camera calls raw")),
    (b"MM\0*", N_("a TIFF file, or what a camera calls raw")),
    (b"%PDF-", N_("a PDF")),
)


def foreign(data: bytes) -> str:
    """Return a sentence on a kind that is not read here, else an empty text.

    HEIF files begin with a box ``ftyp`` that names the brand (ISO/IEC 14496-12, 4.3; the brands
    from ISO/IEC 23008-12, annex B).
    """
    if data[4:8] == b"ftyp" and data[8:12] in HEIF:
        if data[8:11] == b"avi":
            return _(
                "This is an AVIF picture, which is not read here. In the settings of the camera "
                "choose JPEG (many call it the most compatible), or share the picture as JPEG and "
                "send that."
            )
        return _(
            "This is a HEIC picture, which is not read here. In the settings of the camera choose "
            "JPEG (many call it the most compatible), or share the picture as JPEG and send that."
        )
    for head, kind in OTHERS:
        if data.startswith(head):
            return _(
                "This is {kind}: it is not read here. Send a JPEG, PNG or WebP picture."
            ).format(kind=_(kind))
    return ""
