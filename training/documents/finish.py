"""The last touches before a PDF is written: missing letters, glyphs without text, table headers."""

from typing import Any

from weasyprint.pdf import pydyf

from training.errors import Refused

CMAP = b"begincmap"
NO_TEXT, WORD_JOINER = b"> <>", b"> <2060>"


def finish(document: Any, pdf: Any) -> None:
    """Change a WeasyPrint ``Document`` and its pydyf ``PDF`` in place."""
    _refuse_missing_letters(document)
    _name_every_glyph(pdf)
    _scope_headers(pdf)


def _refuse_missing_letters(document: Any) -> None:
    """A name must not print as boxes."""
    missing = sorted({code for font in document.fonts.values() for code in font.missing})
    if missing:
        letters = " ".join(chr(code) for code in missing)
        raise Refused(
            f"No font on this machine has {letters}: ask whoever runs it to install one for this "
            "script (Debian: fonts-noto-core, for Chinese, Japanese and Korean fonts-noto-cjk)."
        )


def _name_every_glyph(pdf: Any) -> None:
    """Give a meaning to glyphs that only complete another one, as in Indic scripts.

    WeasyPrint maps them to no text; ISO 14289-1, 7.21.7, asks for a Unicode value. A word
    joiner shows and separates nothing.
    """
    for thing in pdf.objects:
        if isinstance(thing, pydyf.Stream) and CMAP in thing.stream:
            thing.stream = [line.replace(NO_TEXT, WORD_JOINER) for line in thing.stream]


def _scope_headers(pdf: Any) -> None:
    """Say what a header stands for: its column in the head of a table, else its row."""
    for thing in pdf.objects:
        if isinstance(thing, pydyf.Dictionary) and thing.get("S") == "/TH":
            rows = _object(pdf, _object(pdf, thing["P"])["P"])
            thing["A"]["Scope"] = "/Column" if rows["S"] == "/THead" else "/Row"


def _object(pdf: Any, reference: bytes) -> Any:
    return pdf.objects[int(reference.split()[0])]
