"""The last touches before a PDF is written: missing letters, glyphs without text, table headers.

Signed records have further ones (certificates/rendering/finish.py) and call these.
"""

from typing import Any

from weasyprint.pdf import pydyf

from training.errors import Refused

CMAP = b"begincmap"
NO_TEXT, WORD_JOINER = b"> <>", b"> <2060>"


def finish(document: Any, pdf: Any) -> None:
    """Change a WeasyPrint ``Document`` and its pydyf ``PDF`` in place."""
    letters = missing_letters(document)
    if letters:
        raise Refused(
            f"No font on this machine has {letters}: ask whoever runs it to install one for this "
            "script (Debian: fonts-noto-core, for Chinese, Japanese and Korean fonts-noto-cjk)."
        )
    name_every_glyph(pdf)
    scope_headers(pdf)


def missing_letters(document: Any) -> str:
    """Return the letters that no font has, with spaces between: they would print as boxes."""
    missing = sorted({code for font in document.fonts.values() for code in font.missing})
    return " ".join(chr(code) for code in missing)


def name_every_glyph(pdf: Any) -> None:
    """Give a meaning to glyphs that only complete another one, as in Indic scripts.

    WeasyPrint maps the second glyph of a cluster to no text at all; ISO 14289-1, 7.21.7, and
    ISO 19005-3, 6.2.11.7, ask for a Unicode value. A word joiner shows and separates nothing.
    """
    for thing in pdf.objects:
        if isinstance(thing, pydyf.Stream) and CMAP in thing.stream:
            thing.stream = [line.replace(NO_TEXT, WORD_JOINER) for line in thing.stream]


def scope_headers(pdf: Any) -> None:
    """Say what a header stands for: its column in the head of a table, else its row."""
    for thing in pdf.objects:
        if isinstance(thing, pydyf.Dictionary) and thing.get("S") == "/TH":
            rows = object_at(pdf, object_at(pdf, thing["P"])["P"])
            thing["A"]["Scope"] = "/Column" if rows["S"] == "/THead" else "/Row"


def object_at(pdf: Any, reference: bytes) -> Any:
    """Return what an indirect reference such as ``b"12 0 R"`` stands for."""
    return pdf.objects[int(reference.split()[0])]
