"""The last touches before a record is written: signature field, metadata, clear ends."""

from typing import Any

from weasyprint.pdf import pydyf

from certificates.rendering.errors import RenderingError
from certificates.rendering.xmp import UA_CLAIM
from certificates.signing.signer import AMBIGUOUS_END, FIELD_NAME
from training.documents.finish import (
    missing_letters,
    name_every_glyph,
    object_at,
    scope_headers,
)

CLOSING = b"</rdf:RDF>"


def finish(document: Any, pdf: Any, *, padding: int = 0) -> None:
    """Change a WeasyPrint ``Document`` and its pydyf ``PDF`` in place.

    ``padding`` is a number of blank lines for the metadata, which move what comes after them,
    and of spare objects, which change the stream that the small objects are packed into.
    """
    letters = missing_letters(document)
    if letters:
        raise RenderingError(
            f"No font on this machine has {letters}: install one for this script (Debian: "
            "fonts-noto-core, for Chinese, Japanese and Korean fonts-noto-cjk)."
        )
    name_every_glyph(pdf)
    scope_headers(pdf)
    _reserve_signature(pdf)
    _claim_accessibility(pdf, padding)
    _keep_ends_clear(pdf)
    for _ in range(padding):
        pdf.add_object(pydyf.Dictionary())


def _reserve_signature(pdf: Any) -> None:
    """Turn the check box of the page into an empty signature field.

    WeasyPrint has placed and tagged it already; signing then adds a value and nothing else, so
    the structure tree stays whole. A check box, because a text field would embed a whole font.
    """
    form = pdf.catalog["AcroForm"]
    (reference,) = form["Fields"]
    field = object_at(pdf, reference)
    appearance = object_at(pdf, field["AP"]["N"]["on"])
    appearance.stream = []
    for name in ("V", "AS", "MK", "Border"):
        del field[name]
    left, top, right, bottom = field["Rect"]
    field.update(
        {
            "FT": "/Sig",
            "T": pydyf.String(FIELD_NAME),
            "Rect": pydyf.Array([left, bottom, right, top]),
            "AP": pydyf.Dictionary({"N": appearance.reference}),
            # Print and locked: the field cannot be moved or deleted (ISO 32000-1, table 165).
            "F": 0b1000_0100,
        }
    )
    # SigFlags: a signature field exists, the file must only be appended to (table 219).
    pdf.catalog["AcroForm"] = pydyf.Dictionary({"Fields": form["Fields"], "SigFlags": 3})


def _keep_ends_clear(pdf: Any) -> None:
    """Leave those streams uncompressed whose last byte would be read as part of a line end."""
    for thing in pdf.objects:
        if isinstance(thing, pydyf.Stream) and AMBIGUOUS_END in thing.data:
            thing.compress = False


def _claim_accessibility(pdf: Any, padding: int) -> None:
    """Add the PDF/UA claim to the metadata that WeasyPrint wrote for PDF/A.

    The stream stays uncompressed, so that tools that only look for the packet can read it.
    """
    metadata = object_at(pdf, pdf.catalog["Metadata"])
    (packet,) = metadata.stream
    before, closing, after = packet.rpartition(CLOSING)
    metadata.stream = [before + UA_CLAIM + closing + b"\n" * padding + after]
    metadata.compress = False
