"""Text in a template that no translation reaches.

``python -m tests.languages.bare FILE...`` lists it, of all templates without a file.
"""

import re
import sys
from collections.abc import Iterator
from pathlib import Path

from tests.languages.messages import ROOT, tracked

# What is written is what was signed, or is no text for people.
ENGLISH = (
    "templates/certificates/pdf/",
    # One page that works from a disk; its words are those of verdict.py, which are compared.
    "templates/certificates/checker.html",
    # A document that is stored and numbered, in the language of what is stored.
    "templates/documents/training_report.html",
)
_GONE = re.compile(
    r"\{% comment.*?endcomment %\}|\{#.*?#\}"
    r"|\{% blocktrans(?:late)?\b.*?\{% endblocktrans(?:late)? %\}"
    r"|\{%.*?%\}|\{\{.*?\}\}|<!--.*?-->|<!doctype[^>]*>",
    re.DOTALL | re.IGNORECASE,
)
_SKIPPED = re.compile(r"<(script|style|code|pre|svg)\b.*?</\1>", re.DOTALL)
_ATTRIBUTE = re.compile(r"\b(?:aria-label|title|alt|placeholder|data-label)=(\"[^\"]*\"|'[^']*')")
_TAG = re.compile(r"<[^>]*>", re.DOTALL)
_ENTITY = re.compile(r"&#?\w+;")
_WORD = re.compile(r"[^\W\d_]{2,}")
# Names, and signs that are the same in every language.
SAME = {
    "Bankermark", "PDF", "CSV", "XLSX", "ZIP", "JSON", "PNG", "JPEG", "HEIC", "YAML", "UTF", "SHA",
    "RFC", "Open", "Badges", "mm", "cm", "in", "kg", "lb", "min", "Subject",
}  # fmt: skip


def bare(path: Path) -> Iterator[str]:
    """Give each piece of text, as ``file:line: text``."""
    text = path.read_text()
    name = path.relative_to(ROOT) if path.is_relative_to(ROOT) else path
    shown = _SKIPPED.sub(_blank, _GONE.sub(_blank, text))
    pieces = [(found.start(1), found[1][1:-1]) for found in _ATTRIBUTE.finditer(shown)]
    outside = _TAG.sub(_blank, shown)
    pieces += [(found.start(), found[0]) for found in re.finditer(r"[^\s\0][^\n\0]*", outside)]
    for start, piece in sorted(pieces):
        words = _WORD.findall(_ENTITY.sub(" ", piece))
        if any(word not in SAME for word in words):
            yield f"{name}:{text.count(chr(10), 0, start) + 1}: {' '.join(piece.split())}"


def _blank(found: re.Match[str]) -> str:
    """Keep the lines where they are, and what stood apart apart."""
    return "\0" + re.sub(r"[^\n]", " ", found[0])[1:]


def templates() -> list[Path]:
    """Return the templates whose text is translated."""
    return [
        path
        for path in tracked("templates")
        if path.suffix in (".html", ".txt") and not str(path.relative_to(ROOT)).startswith(ENGLISH)
    ]


if __name__ == "__main__":
    chosen = [Path(name).resolve() for name in sys.argv[1:]] or templates()
    found = [line for path in chosen for line in bare(path)]
    print("\n".join(found))
    print(f"{len(found)} bare texts in {len(chosen)} files")
