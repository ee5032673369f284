"""The words of the drawn coverage in the reader's language; ``coverage`` draws them in English."""

import re
from collections.abc import Callable
from datetime import datetime

from django.utils.formats import date_format
from django.utils.translation import get_language
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop as N_

from certificates.wording import day_again, listed, number_again, place_title

_DAY = r"\d{1,2} [A-Z][a-z]+ \d{4}"
_STRETCH = rf"(?:on {_DAY}|from {_DAY} to {_DAY}|\w[\w,]* more stretch(?:es)?)"
_STRETCHES = re.compile(_STRETCH)
_FIXED = {
    "filled": N_("filled"),
    "short": N_("short"),
    "short of masons": N_("short of masons"),
    "filled on all its days": N_("filled on all its days"),
    "Filled on all their days": N_("Filled on all their days"),
}


def drawn(text: str) -> str:
    """Return a text of a timeline in the active language; a title stays as it is.

    >>> drawn("short on 4 May 2026")
    'short on 4 May 2026'
    """
    if (get_language() or "en").split("-")[0] == "en":
        return text
    if text in _FIXED:
        return _(_FIXED[text])
    for pattern, say in _SAID:
        found = pattern.fullmatch(text)
        if found:
            return say(found)
    return place_title(text)


def _stretch(text: str) -> str:
    if text.startswith("on "):
        return _("on {day}").format(day=day_again(text[3:]))
    if text.startswith("from "):
        first, last = text[5:].split(" to ")
        return _("from {first} to {last}").format(first=day_again(first), last=day_again(last))
    number = text.split(" ")[0]
    if number == "one":
        return _("one more stretch")
    return _("{number} more stretches").format(number=number_again(number))


def _short(found: re.Match[str]) -> str:
    return _("short {stretches}").format(stretches=listed(_parts(found[1])))


def _parts(text: str) -> list[str]:
    return [_stretch(each) for each in _STRETCHES.findall(text)]


def _day_cut(found: re.Match[str]) -> str:
    on = datetime.strptime(found[0], "%d %b %Y")  # noqa: DTZ007 (a day alone)
    return date_format(on, "j M Y")


def _month(found: re.Match[str]) -> str:
    on = datetime.strptime(found[0], "%b %Y")  # noqa: DTZ007 (a month alone)
    return date_format(on, "M Y")


_SAID: tuple[tuple[re.Pattern[str], Callable[[re.Match[str]], str]], ...] = (
    (re.compile(rf"short ({_STRETCH}(?:(?:, | and ){_STRETCH})*)"), _short),
    (
        re.compile(rf"First day not covered: ({_DAY})"),
        lambda found: _("First day not covered: {day}").format(day=day_again(found[1])),
    ),
    (
        re.compile(rf"From ({_DAY}) to ({_DAY})\."),
        lambda found: _("From {first} to {last}.").format(
            first=day_again(found[1]), last=day_again(found[2])
        ),
    ),
    (
        re.compile(r"\((\d+) of (\d+)\)"),
        lambda found: _("({number} of {total})").format(number=found[1], total=found[2]),
    ),
    (re.compile(r"\d{1,2} [A-Z][a-z]{2} \d{4}"), _day_cut),
    (re.compile(r"[A-Z][a-z]{2} \d{4}"), _month),
)
