"""Pictures of kinds that are not read here, told apart by how they begin."""

HEIF = {b"heic", b"heix", b"heim", b"heis", b"hevc", b"hevx", b"mif1", b"msf1", b"avif", b"avis"}
OTHERS = (
    (b"GIF8", "a GIF file"),
    (b"BM", "a BMP file"),
    (b"II*\0", "a TIFF file, or what a camera calls raw"),
    (b"MM\0*", "a TIFF file, or what a camera calls raw"),
    (b"%PDF-", "a PDF"),
)


def foreign(data: bytes) -> str:
    """Return a sentence on a kind that is not read here, else an empty text.

    HEIF files begin with a box ``ftyp`` that names the brand (ISO/IEC 14496-12, 4.3; the brands
    from ISO/IEC 23008-12, annex B).
    """
    if data[4:8] == b"ftyp" and data[8:12] in HEIF:
        kind = "an AVIF" if data[8:11] == b"avi" else "a HEIC"
        return (
            f"This is {kind} picture, which is not read here. In the settings of the camera choose "
            "JPEG (many call it the most compatible), or share the picture as JPEG and send that."
        )
    for head, kind in OTHERS:
        if data.startswith(head):
            return f"This is {kind}: it is not read here. Send a JPEG, PNG or WebP picture."
    return ""
