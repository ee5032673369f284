"""What stands in the braces of the sentences of evidence, said again in the reader's language."""

import re
from collections.abc import Callable, Mapping

from django.utils.translation import gettext as _

from training.said import said

_QUANTITY = r"[−-]?\d+(?:[.,]\d+)*(?: ?%)?"
_RANGE = re.compile(rf"({_QUANTITY}) to ({_QUANTITY})")
_MORE = re.compile(r"(\d+) more")
_WORDS = r"[Nn]o|[Oo]ne|[Tt]wo|[Tt]hree|[Ff]our|[Ff]ive|[Ss]ix|[Ss]even|[Ee]ight|[Nn]ine|[Tt]en"
_REASON = re.compile(r"\((not scored by each of the assessors|not scored|does not apply)\)")

FORMS: Mapping[str, str] = {
    **dict.fromkeys(
        ("alone", "cut", "high", "least", "level", "low", "mean", "most", "share"),
        _QUANTITY,
    ),
    **dict.fromkeys(
        ("count", "freedom", "items", "pieces", "runs", "samples", "seed", "total"), r"\d+"
    ),
    **dict.fromkeys(("points", "before"), rf"{_QUANTITY} percentage points"),
    "value": _QUANTITY,
    "average": "mean|median|trimmed mean",
    "difficulty": "easy|medium|hard",
    "form": r"ICC\([^)]*\)",
    "letter": r"[A-Z]{1,2}",
    "number": rf"{_QUANTITY}|{_WORDS}",
    "round": r"Round \d+(?:, for training)?",
}
"""What stands in the braces of these names looks like this, so that no title is taken for it."""


def number_again(text: str) -> str:
    """Say a number, up to ten as a word.

    >>> number_again("Three"), number_again("12")
    ('Three', '12')
    """
    if not text.isalpha():
        return text
    # The words themselves are those of a crew's sentences.
    told = _(text.lower())
    return told.capitalize() if text[0].isupper() else told


def judges_again(text: str) -> str:
    """Say a list of judges, which may be cut short.

    >>> judges_again("Judge A, Judge B and 2 more")
    'Judge A, Judge B and 2 more'
    """
    *some, last = (_more_again(said(each)) for each in re.split(", | and ", text))
    return _("{list} and {last}").format(list=", ".join(some), last=last) if some else last


def apart_again(text: str) -> str:
    """Say a list of criteria, each with its lowest and highest estimate in brackets.

    >>> apart_again("Arris and face (40 % to 70 %), Joint (20 % to 50 %) and 2 more")
    'Arris and face (40 % to 70 %), Joint (20 % to 50 %) and 2 more'
    """
    head, both, last = text.rpartition(") and ")
    ranges = _ranges_again(f"{head})" if both else text)
    if not both:
        return ranges
    return _("{list} and {last}").format(list=ranges, last=_more_again(_ranges_again(last)))


def asked_again(text: str) -> str:
    """Say titles with how many there are beside them.

    >>> asked_again("Arris; Joint; Face and 2 more")
    'Arris; Joint; Face and 2 more'
    """
    found = re.fullmatch(r"(.*) and (\d+ more)", text, re.DOTALL)
    if not found:
        return text
    return _("{list} and {last}").format(list=found[1], last=_more_again(found[2]))


def series_again(text: str) -> str:
    """Say titles with their values: ``Joint 80% (70% to 90%); Arris not computed``.

    >>> series_again("run 1: 0.50; run 2: 0.75"), series_again("O1 Set a sill: none")
    ('run 1: 0.50; run 2: 0.75', 'O1 Set a sill: none')
    """
    return "; ".join(_valued_again(each) for each in text.split("; "))


def pairs_again(text: str) -> str:
    """Say the pairs of levels that were told differently.

    >>> pairs_again("1 from 2 and 0 from 1")
    '1 from 2 and 0 from 1'
    """
    *some, last = (
        _("{first} from {second}").format(first=first, second=second)
        for first, second in re.findall(r"(\d+) from (\d+)", text)
    )
    return _("{list} and {last}").format(list=", ".join(some), last=last) if some else last


def gaps_again(text: str) -> str:
    """Say titles with, in brackets, why nothing stands there.

    >>> gaps_again("Joint (not scored), Arris (does not apply)")
    'Joint (not scored), Arris (does not apply)'
    """
    return _REASON.sub(lambda found: f"({said(found[1])})", text)


def effects_again(text: str) -> str:
    """Say a list of effects, of which one may end with a comma and chance.

    >>> effects_again("criteria, trainees × criteria, and chance")
    'criteria, trainees × criteria, and chance'
    """
    return ", ".join(said(each) for each in re.split(", (?!and chance)", text))


def _ranges_again(text: str) -> str:
    return _RANGE.sub(lambda found: _("{low} to {high}").format(low=found[1], high=found[2]), text)


def _more_again(text: str) -> str:
    found = _MORE.fullmatch(text)
    return _("{number} more").format(number=found[1]) if found else text


def _valued_again(text: str) -> str:
    for ending in ("not computed", "none"):
        if text.endswith(f" {ending}"):
            return f"{text.removesuffix(ending)}{_(ending)}"
    if run := re.fullmatch(r"run (\d+): (.*)", text):
        return _("run {number}: {value}").format(number=run[1], value=run[2])
    return _ranges_again(text)


VALUES: Mapping[str, Callable[[str], str]] = {
    "apart": apart_again,
    "asked": asked_again,
    "cuts": series_again,
    "effects": effects_again,
    "gaps": gaps_again,
    "method": _,
    "names": judges_again,
    "number": number_again,
    "pairs": pairs_again,
    "series": series_again,
    "statement": _,
    "titles": str,
}
"""How what stands in the braces of these names is said."""
