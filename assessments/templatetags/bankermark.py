"""How results, exact numbers and measured criteria are shown in templates.

Numbers and words follow the active language, lengths the unit that the reader wants
(``assessments/lengths.py``); documents are rendered under their own language.
"""

from collections.abc import Iterator, Mapping
from datetime import datetime
from functools import lru_cache
from typing import Any

from django import template
from django.forms import BaseForm, BoundField
from django.template.loader import render_to_string
from django.utils import timezone
from django.utils.safestring import SafeString, mark_safe
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop

from assessments import lengths
from assessments.engine.numbers import exact, is_exact
from assessments.engine.units import UNITS
from assessments.numberline import Mark, Speech, described, number_line_svg
from assessments.sentences import time_text

register = template.Library()

# Word, tone (colour) and shape of each result of an attempt or a criterion.
RESULTS: dict[str, tuple[str, str, str]] = {
    "met": (gettext_noop("Met"), "good", "check"),
    "not_yet_met": (gettext_noop("Not yet met"), "bad", "cross"),
    "not_met": (gettext_noop("Not met"), "bad", "cross"),
    "undecided": (gettext_noop("Undecided"), "doubt", "half"),
    "within_guard_band": (gettext_noop("Within the guard band"), "doubt", "half"),
    "incomplete": (gettext_noop("Incomplete"), "doubt", "gap"),
    "missing": (gettext_noop("Missing"), "doubt", "gap"),
    "disagreed": (gettext_noop("Assessors disagree"), "doubt", "half"),
    "blocked": (gettext_noop("Blocked"), "bad", "stop"),
    "void": (gettext_noop("Void"), "none", "bar"),
    "not_applicable": (gettext_noop("Not applicable"), "none", "bar"),
}
TIMES = ("s", "min", "h", "d")
UNIT_WORDS = {
    "in": gettext_noop("inches"),
    "ft": gettext_noop("feet"),
    "mm": gettext_noop("millimeters"),
    "cm": gettext_noop("centimeters"),
    "m": gettext_noop("meters"),
}


@register.simple_tag
def status(result: str, size: str = "") -> SafeString:
    """Show a result as word, shape and colour; KeyError for a result the engine does not give."""
    word, tone, shape = RESULTS[result]
    return _status(_(word), tone, shape, size)


@lru_cache(maxsize=256)
def _status(word: str, tone: str, shape: str, size: str) -> SafeString:
    # A page shows the same few again and again.
    said = {"word": word, "tone": tone, "shape": shape, "size": size}
    return mark_safe(render_to_string("includes/status.html", said))


@register.filter
def result_word(result: str) -> str:
    """Return the word for a result, such as ``Not yet met``; KeyError for an unknown one."""
    return _(RESULTS[result][0])


@register.filter
def quantity(value: str, unit: str) -> str:
    """Return an exact JSON number with its unit: ``"3/2"`` and ``"in"`` give ``1 1/2 in``.

    A length taken in the other unit than the reader wants stands in brackets.
    """
    return lengths.shown(exact(value), unit)


@register.filter
def told(sentence: str) -> str:
    """Return an English sentence of the engine in the reader's language, lengths and numbers."""
    # What is translated where it is shown may be among the engine's sentences.
    return lengths.told(str(sentence))


@register.filter
def percent(score: str | None) -> str:
    """Return an exact score from 0 to 1 as a percentage that is never rounded up."""
    return "" if score is None else lengths.percent(exact(score))


@register.filter
def limits(criterion: Mapping[str, Any]) -> str:
    """Return the limits of a measured, counted or timed criterion in words.

    A limit derived from the task's dimensions stays the formula that the standard holds.
    """
    bounds, unit = criterion["limits"], str(criterion.get("unit") or "1")
    lower, upper = (_limit(bounds.get(side), unit) for side in ("lower", "upper"))
    if lower and upper:
        if lower == upper:
            return _("{figure} exactly").format(figure=lower)
        return _("{low} to {high}").format(low=lower, high=upper)
    if upper:
        return _("{figure} or less").format(figure=upper)
    return _("{figure} or more").format(figure=lower)


def _limit(value: str | None, unit: str) -> str:
    if value is None:
        return ""
    if not is_exact(value):
        return f"({value}) {unit}"
    if unit in TIMES:
        return lengths.numbers(time_text(UNITS[unit].to_base(exact(value)), unit))
    return lengths.shown(exact(value), unit)


@register.filter
def unit_words(unit: str) -> str:
    """Return a unit as it is said in a sentence: ``in`` gives ``inches``."""
    return _(UNIT_WORDS[unit]) if unit in UNIT_WORDS else unit


@register.filter
def reading_example(criterion: Mapping[str, Any]) -> str:
    """Return how a reading of this criterion may be typed."""
    if criterion["unit"] in ("in", "ft"):
        return _('1 1/2, 1-1/2" or 38.1 mm')
    if criterion["unit"] == "mm":
        return _("38.1 or 38.1 mm")
    return f"12.5 {criterion['unit']}"


@register.filter
def fields_named(form: BaseForm, prefix: str) -> Iterator[BoundField]:
    """Return the fields of the form whose names start with ``prefix``, in order."""
    return (form[name] for name in form.fields if name.startswith(prefix))


@register.filter
def words(text: str) -> list[str]:
    """Return the words of a text, to go through them."""
    return text.split()


@register.filter
def instant(value: datetime | str | None) -> str:
    """Return an instant in the current time zone as a field of date and time takes it.

    What somebody typed and a form refused comes back as it was typed.
    """
    if isinstance(value, datetime):
        local = timezone.localtime(value) if timezone.is_aware(value) else value
        return local.strftime("%Y-%m-%dT%H:%M:%S")
    return value or ""


def _label(mark: Mark, unit: str) -> str:
    return lengths.mark_text(mark["exact"], unit, mark["text"])


def _label_with_taken(mark: Mark, unit: str) -> str:
    return lengths.shown(exact(mark["exact"]), unit)


# gettext and the lengths ask who is active only when something is drawn.
SPEECH = Speech(word=_, figure=_label)


@register.filter
def number_line(figures: Mapping[str, Any], title: str) -> SafeString:
    """Draw a measured criterion from the engine's figures, to be read on a phone as well."""
    # It escapes every text.
    return mark_safe(number_line_svg(figures, title=title, width=340, speech=SPEECH))


@register.filter
def number_line_words(figures: Mapping[str, Any]) -> str:
    """Say what ``number_line`` shows, for who cannot see it; what was taken beside each length."""
    return described(figures, Speech(word=_, figure=_label_with_taken))


@register.filter
def number_line_large(figures: Mapping[str, Any], title: str) -> SafeString:
    """Draw a measured criterion for the scoring page: letters of 20 px at 336 px of width."""
    return mark_safe(number_line_svg(figures, title=title, width=250, speech=SPEECH))
