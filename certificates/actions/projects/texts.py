"""Names and descriptions as they are kept: composed letters, no hidden signs."""

import re
import unicodedata

from django.utils.translation import gettext as _

from certificates.wording import count

CODE = re.compile(r"[^\W_][\w.-]{0,19}")
# Zero-width joiners shape words in Persian and in scripts of India.
_JOINERS = "\u200c\u200d"


def one_line(typed: str, most: int, missing: str) -> str:
    """Return ``typed`` in composed form with single spaces, not longer than ``most``.

    Raises ValueError with a sentence for the person who typed it; ``missing`` when it is empty.
    """
    text = " ".join(unicodedata.normalize("NFC", typed).split())
    if not text and missing:
        raise ValueError(missing)
    return _checked(text, most)


def lines(typed: str, most: int) -> str:
    """Return ``typed`` in composed form, its lines kept and the space at their ends taken out."""
    text = unicodedata.normalize("NFC", typed)
    kept = "\n".join(line.strip() for line in text.strip().splitlines())
    return _checked(kept, most, allowed="\n\t")


def post_code(typed: str) -> str:
    """Return the code of a post, such as B or N-2; ValueError for anything else.

    A lead place is named by its post's code and a slash, so there is none in the code itself.
    """
    code = one_line(typed, 20, _("Write a short code for the post, such as B or N-2."))
    if not CODE.fullmatch(code):
        raise ValueError(
            _(
                "Write 1 to 20 letters, digits, points, hyphens or underscores, a letter or digit "
                "first; no spaces."
            )
        )
    return code


def _checked(text: str, most: int, allowed: str = "") -> str:
    if len(text) > most:
        raise ValueError(
            _("This has {number} characters: write {most} at most.").format(
                number=count(len(text)), most=count(most)
            )
        )
    for character in text:
        hidden = unicodedata.category(character) in ("Cc", "Cf", "Cs", "Co")
        if hidden and character not in _JOINERS + allowed:
            raise ValueError(
                _(
                    "This holds an invisible character ({code}): type it anew instead of pasting "
                    "it."
                ).format(code=f"U+{ord(character):04X}")
            )
    return text
