"""Numbers of records: what the paper shows, not to be guessed, easy to read out and to type.

80 random bits in Crockford's base 32 (digits and capitals without I, L, O and U), in four
groups of four: https://www.crockford.com/base32.html.
"""

import re
import secrets

from django.utils.translation import gettext as _

ALPHABET = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"
GROUPS = 4
GROUP = 4
LONGEST_TYPED = 60
EXAMPLE = "7K3M-9QX2-04VD-HT8B"
# The letters that Crockford's alphabet leaves out because they look like a digit.
_MISREAD = str.maketrans({"O": "0", "I": "1", "L": "1"})
_FORM = re.compile(rf"[{ALPHABET}]{{{GROUPS * GROUP}}}")
# Spaces, full stops and every hyphen or dash that a keyboard or a copied page may put in.
_BETWEEN = re.compile(r"[\s.\u002d\u00ad\u2010-\u2015\u2212]+")


def new_number() -> str:
    """Return a number that nobody can guess: 16 characters of 5 random bits each."""
    return _grouped("".join(secrets.choice(ALPHABET) for _unused in range(GROUPS * GROUP)))


def read_number(typed: str) -> str:
    """Return the number that was meant, in the form of the paper.

    Raises ValueError with a sentence for the person who typed it.

    >>> read_number(" 7k3m 9qx2-o4vd  ht8b ")
    '7K3M-9QX2-04VD-HT8B'
    """
    letters = _BETWEEN.sub("", typed[: LONGEST_TYPED + 1]).upper().translate(_MISREAD)
    if not letters:
        raise ValueError(
            _("Write the number that stands on the record, such as {example}.").format(
                example=EXAMPLE
            )
        )
    if not _FORM.fullmatch(letters):
        raise ValueError(
            _(
                "This is not the number of a record: it has four groups of four, such as "
                "{example}. {what}"
            ).format(example=EXAMPLE, what=_what_is_wrong(letters))
        )
    return _grouped(letters)


def _what_is_wrong(letters: str) -> str:
    strange = sorted({letter for letter in letters if letter not in ALPHABET})
    if strange:
        return _("“{letter}” is never in one: look at the paper again.").format(letter=strange[0])
    return _("{count} characters came, {wanted} are wanted.").format(
        count=len(letters), wanted=GROUPS * GROUP
    )


def _grouped(letters: str) -> str:
    return "-".join(letters[i : i + GROUP] for i in range(0, GROUPS * GROUP, GROUP))
