"""The words that a person reads before agreeing to something; each answer keeps them whole.

Changing them here changes nothing that was answered before. Local law on privacy comes first.
"""

from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop as N_

from training.models import Consent

WORDS: dict[str, str] = {
    Consent.Kind.PHOTOGRAPHS: (
        N_(
            "I agree that photographs in which I can be recognised, taken while I take part in a "
            "course, are kept in its site log and shown in its training report to the owner of the "
            "building. I can take this back at any time; reports already handed over stay as they "
            "are, and later ones leave the photographs out."
        )
    ),
    Consent.Kind.NAME_IN_REPORTS: (
        N_(
            "I agree that training reports to the owner of the building name me with the result "
            "that I reached. I can take this back at any time; reports already handed over stay as "
            "they are, and later ones count me without my name."
        )
    ),
}
# How an answer that somebody else wrote down was given: the first line of the words kept.
ON_PAPER = "Signed on paper; written down by an instructor or training lead."
ON_DEVICE = "Answered on the device of an instructor or training lead, by the person."
HOW: dict[str, str] = {"paper": ON_PAPER, "device": ON_DEVICE}
REFUSED = "Refused, after reading:"
TAKEN_BACK = "Taken back, after reading:"


def words_of(kind: str, *, given: bool, before: bool | None, how: str = "") -> str:
    """Return the words to keep with an answer; KeyError for an unknown kind or way.

    ``before`` is the answer that held until then, ``how`` a key of HOW or empty for the
    person's own press. The words are in the language in which they are shown: so they were read.
    """
    head = [HOW[how]] if how else []
    if not given:
        head.append(TAKEN_BACK if before else REFUSED)
    return "\n".join([*head, _(WORDS[kind])])


def how_of(words: str) -> str:
    """Return ``paper``, ``device`` or an empty text, from the words kept with an answer."""
    return next((how for how, line in HOW.items() if words.startswith(line)), "")
