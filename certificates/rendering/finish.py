"""The last touches before the PDF is written: signature field, metadata, missing letters."""

from typing import Any

from weasyprint.pdf import pydyf

from certificates.rendering.errors import RenderingError
from certificates.rendering.xmp import UA_CLAIM
from certificates.signing.signer import AMBIGUOUS_END, FIELD_NAME

CMAP = b"begincmap"
WORD_JOINER = b"> <2060>"
CLOSING = b"</rdf:RDF>"


def finish(document: Any, pdf: Any, *, padding: int = 0) -> None:
    """Change a WeasyPrint ``Document`` and its pydyf ``PDF`` in place.

    ``padding`` is a number of blank lines for the metadata, which move what comes after them,
    and of spare objects, which change the stream that the small objects are packed into.
    """
    _refuse_missing_letters(document)
    _name_every_glyph(pdf)
    _scope_headers(pdf)
    _reserve_signature(pdf)
    _claim_accessibility(pdf, padding)
    _keep_ends_clear(pdf)
    for _ in range(padding):
        pdf.add_object(pydyf.Dictionary())


def _refuse_missing_letters(document: Any) -> None:
    """PDF/A forbids glyphs that stand for no letter, and a name must not print as boxes."""
    missing = sorted({code for font in document.fonts.values() for code in font.missing})
    if missing:
        letters = " ".join(chr(code) for code in missing)
        raise RenderingError(
            f"No font on this machine has {letters}: install one for this script (Debian: "
            "fonts-noto-core, for Chinese, Japanese and Korean fonts-noto-cjk)."
        )


def _name_every_glyph(pdf: Any) -> None:
    """Give a meaning to glyphs that only complete another one, as in Indic scripts.

    WeasyPrint maps the second glyph of a cluster to no text at all; ISO 19005-3, 6.2.11.7, asks
    for a Unicode value. A word joiner shows and separates nothing.
    """
    for thing in pdf.objects:
        if isinstance(thing, pydyf.Stream) and CMAP in thing.stream:
            thing.stream = [line.replace(b"> <>", WORD_JOINER) for line in thing.stream]


def _scope_headers(pdf: Any) -> None:
    """Say that table headers stand over columns, which WeasyPrint tells by identifiers alone."""
    for thing in pdf.objects:
        if isinstance(thing, pydyf.Dictionary) and thing.get("S") == "/TH":
            thing["A"]["Scope"] = "/Column"


def _reserve_signature(pdf: Any) -> None:
    """Turn the check box of the page into an empty signature field.

    WeasyPrint has placed and tagged it already; signing then adds a value and nothing else, so
    the structure tree stays whole. A check box, because a text field would embed a whole font.
    """
    form = pdf.catalog["AcroForm"]
    (reference,) = form["Fields"]
    field = _object(pdf, reference)
    appearance = _object(pdf, field["AP"]["N"]["on"])
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


def _object(pdf: Any, reference: bytes) -> Any:
    return pdf.objects[int(reference.split()[0])]


def _keep_ends_clear(pdf: Any) -> None:
    """Leave those streams uncompressed whose last byte would be read as part of a line end."""
    for thing in pdf.objects:
        if isinstance(thing, pydyf.Stream) and AMBIGUOUS_END in thing.data:
            thing.compress = False


def _claim_accessibility(pdf: Any, padding: int) -> None:
    """Add the PDF/UA claim to the metadata that WeasyPrint wrote for PDF/A.

    The stream stays uncompressed, so that tools that only look for the packet can read it.
    """
    metadata = _object(pdf, pdf.catalog["Metadata"])
    (packet,) = metadata.stream
    before, closing, after = packet.rpartition(CLOSING)
    metadata.stream = [before + UA_CLAIM + closing + b"\n" * padding + after]
    metadata.compress = False
