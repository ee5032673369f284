"""People's names as they are kept: one space between words, composed letters, no hidden signs."""

import unicodedata

from django.utils.translation import gettext as _

LONGEST_NAME = 200
# Zero-width joiners shape words in Persian and in scripts of India; every other
# invisible character could only make one name look like another.
_JOINERS = "\u200c\u200d"


def clean_name(typed: str) -> str:
    """Return ``typed`` in Unicode's composed form (NFC) with single spaces.

    Raises ValueError with a sentence for the person who typed it.

    >>> clean_name("  Saoirse   Ni\u0301 Bhriain ")
    'Saoirse Ní Bhriain'
    """
    name = " ".join(unicodedata.normalize("NFC", typed).split())
    if not name:
        raise ValueError(_("Write the person's full name, as it should stand on a record."))
    if len(name) > LONGEST_NAME:
        raise ValueError(
            _("This name has {count} characters: write {most} at most.").format(
                count=len(name), most=LONGEST_NAME
            )
        )
    for character in name:
        if unicodedata.category(character) in ("Cc", "Cf", "Cs", "Co") and (
            character not in _JOINERS
        ):
            raise ValueError(
                _(
                    "This name holds an invisible character ({code}): type the name anew instead "
                    "of pasting it."
                ).format(code=f"U+{ord(character):04X}")
            )
    if not any(character.isalpha() for character in name):
        raise ValueError(_("This name has no letter: write the person's full name."))
    return name


def same_name(one: str, other: str) -> bool:
    """Say whether two names differ in spacing, composition or capitals only."""
    return _folded(one) == _folded(other)


def _folded(name: str) -> str:
    return unicodedata.normalize("NFC", " ".join(name.split()).casefold())
