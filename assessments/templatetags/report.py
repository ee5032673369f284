"""How the figures of a training report are shown, on the page and on paper."""

from collections.abc import Mapping
from datetime import date, datetime

from django import template
from django.utils.formats import date_format

register = template.Library()

DAY = "j M Y"
# A result of a trainee in words; the results of the engine, and what comes before there is one.
WORDS = {
    "met": "Met",
    "not_yet_met": "Not yet met",
    "incomplete": "Incomplete",
    "open": "Being assessed",
    "none": "Not assessed",
}


@register.filter
def hours(minutes: int) -> str:
    """Return minutes as people say them.

    >>> hours(390), hours(120), hours(45), hours(0)
    ('6 h 30 min', '2 h', '45 min', '0 h')
    """
    whole, rest = divmod(minutes, 60)
    if not rest:
        return f"{whole} h"
    return f"{whole} h {rest} min" if whole else f"{rest} min"


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
    return WORDS[word]


@register.filter
def source_of(sources: Mapping[str, str], picture: str) -> str:
    """Return where the photograph with this id is read from; empty where it is kept no longer."""
    return sources.get(picture, "")
