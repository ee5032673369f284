"""How the figures of a training report are shown, on the page and on paper."""

import re
from collections.abc import Iterable, Mapping
from datetime import date, datetime

from django import template
from django.utils.formats import date_format
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop as N_

from assessments.trainingreport.scaled import UNREADABLE
from training.said import register_said, said

register = template.Library()

DAY = "j M Y"
# A result of a trainee in words; the results of the engine, and what comes before there is one.
WORDS = {
    "met": N_("Met"),
    "not_yet_met": N_("Not yet met"),
    "incomplete": N_("Incomplete"),
    "open": N_("Being assessed"),
    "none": N_("Not assessed"),
}
# Who agreed to no name: see assessments.trainingreport.people.
NUMBERS = {"Trainee": N_("Trainee {number}"), "Instructor": N_("Instructor {number}")}
NUMBERED = re.compile(r"(Trainee|Instructor) ([0-9]+)")
UNREADABLE_END = UNREADABLE.rpartition("}")[2]
register_said((UNREADABLE,))


@register.filter
def hours(minutes: int) -> str:
    """Return minutes as people say them.

    >>> hours(390), hours(120), hours(45), hours(0)
    ('6 h 30 min', '2 h', '45 min', '0 h')
    """
    whole, rest = divmod(minutes, 60)
    if not rest:
        return _("{whole} h").format(whole=whole)
    return (
        _("{whole} h {rest} min").format(whole=whole, rest=rest)
        if whole
        else _("{rest} min").format(rest=rest)
    )


@register.filter
def day(iso: str) -> str:
    """Return an ISO 8601 day as it is written in a text; empty for none."""
    return date_format(date.fromisoformat(iso), DAY) if iso else ""


@register.filter
def moment(iso: str) -> str:
    """Return an ISO 8601 instant by the clocks of its own offset; empty for none."""
    if not iso:
        return ""
    at = datetime.fromisoformat(iso)
    return f"{date_format(at, DAY)}, {at:%H:%M}"


@register.filter
def standing_word(word: str) -> str:
    """Return how a trainee stands in words; KeyError for an unknown one."""
    return _(WORDS[word])


@register.filter
def told(text: str) -> str:
    """Return a heading or word of the report, which is kept in English, for the reader.

    What its author wrote stays as it is; so does a name.
    """
    if numbered := NUMBERED.fullmatch(text):
        return _(NUMBERS[numbered[1]]).format(number=numbered[2])
    translated = _(text) if text else ""
    return said(text) if text.endswith(UNREADABLE_END) else translated


@register.filter
def told_all(texts: Iterable[str]) -> list[str]:
    """Return each of them as ``told`` does."""
    return [told(text) for text in texts]


@register.filter
def source_of(sources: Mapping[str, str], picture: str) -> str:
    """Return where the photograph with this id is read from; empty where it is kept no longer."""
    return sources.get(picture, "")
