"""How results, exact numbers and measured criteria are shown in templates."""

from collections.abc import Iterator, Mapping
from datetime import datetime
from typing import Any

from django import template
from django.forms import BaseForm, BoundField
from django.utils import timezone
from django.utils.safestring import SafeString, mark_safe

from assessments.engine.numbers import exact, is_exact, percent_text
from assessments.engine.quantities import format_quantity
from assessments.engine.units import UNITS
from assessments.numberline import number_line_svg
from assessments.sentences import time_text

register = template.Library()

# Word, tone (colour) and shape of each result of an attempt or a criterion.
RESULTS: dict[str, tuple[str, str, str]] = {
    "met": ("Met", "good", "check"),
    "not_yet_met": ("Not yet met", "bad", "cross"),
    "not_met": ("Not met", "bad", "cross"),
    "undecided": ("Undecided", "doubt", "half"),
    "within_guard_band": ("Within the guard band", "doubt", "half"),
    "incomplete": ("Incomplete", "doubt", "gap"),
    "missing": ("Missing", "doubt", "gap"),
    "disagreed": ("Assessors disagree", "doubt", "half"),
    "blocked": ("Blocked", "bad", "stop"),
    "not_applicable": ("Not applicable", "none", "bar"),
}
TIMES = ("s", "min", "h", "d")
UNIT_WORDS = {"in": "inches", "ft": "feet", "mm": "millimeters", "cm": "centimeters", "m": "meters"}


@register.inclusion_tag("includes/status.html")
def status(result: str, size: str = "") -> dict[str, str]:
    """Show a result as word, shape and colour; KeyError for a result the engine does not give."""
    word, tone, shape = RESULTS[result]
    return {"word": word, "tone": tone, "shape": shape, "size": size}


@register.filter
def result_word(result: str) -> str:
    """Return the word for a result, such as ``Not yet met``; KeyError for an unknown one."""
    return RESULTS[result][0]


@register.filter
def quantity(value: str, unit: str) -> str:
    """Return an exact JSON number with its unit: ``"3/2"`` and ``"in"`` give ``1 1/2 in``."""
    return format_quantity(exact(value), unit)


@register.filter
def percent(score: str | None) -> str:
    """Return an exact score from 0 to 1 as a percentage that is never rounded up."""
    return "" if score is None else percent_text(exact(score))


@register.filter
def limits(criterion: Mapping[str, Any]) -> str:
    """Return the limits of a measured, counted or timed criterion in words.

    A limit derived from the task's dimensions stays the formula that the standard holds.
    """
    bounds, unit = criterion["limits"], str(criterion.get("unit") or "1")
    lower, upper = (_limit(bounds.get(side), unit) for side in ("lower", "upper"))
    if lower and upper:
        return f"{lower} exactly" if lower == upper else f"{lower} to {upper}"
    return f"{upper} or less" if upper else f"{lower} or more"


def _limit(value: str | None, unit: str) -> str:
    if value is None:
        return ""
    if not is_exact(value):
        return f"({value}) {unit}"
    if unit in TIMES:
        return time_text(UNITS[unit].to_base(exact(value)), unit)
    return format_quantity(exact(value), unit)


@register.filter
def unit_words(unit: str) -> str:
    """Return a unit as it is said in a sentence: ``in`` gives ``inches``."""
    return UNIT_WORDS.get(unit, unit)


@register.filter
def reading_example(criterion: Mapping[str, Any]) -> str:
    """Return how a reading of this criterion may be typed."""
    if criterion["unit"] in ("in", "ft"):
        return '1 1/2, 1-1/2" or 38.1 mm'
    return "38.1 or 38.1 mm" if criterion["unit"] == "mm" else f"12.5 {criterion['unit']}"


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


@register.filter
def number_line(figures: Mapping[str, Any], title: str) -> SafeString:
    """Draw a measured criterion from the engine's figures, to be read on a phone as well."""
    return mark_safe(number_line_svg(figures, title=title, width=340))  # it escapes every text


@register.filter
def number_line_large(figures: Mapping[str, Any], title: str) -> SafeString:
    """Draw a measured criterion for the scoring page: letters of 20 px at 336 px of width."""
    return mark_safe(number_line_svg(figures, title=title, width=250))
