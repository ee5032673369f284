"""How progress is shown in templates: the drawing of an outcome, shares in words."""

from fractions import Fraction
from functools import lru_cache

from django import template
from django.template.loader import render_to_string
from django.utils.html import escape
from django.utils.safestring import SafeString, mark_safe
from django.utils.translation import get_language, ngettext
from django.utils.translation import gettext as _

from assessments.engine.numbers import Exact, number_text, tidy, to_fraction
from assessments.progress_drawing import Spot, progress_svg
from assessments.queries.progress import ATTEMPT, Line, Share
from assessments.templatetags.bankermark import percent

register = template.Library()
# Word, tone and shape of where an outcome stands; a share of practice decides nothing.
STANDS: dict[str, tuple[str, str]] = {
    "met": ("good", "check"),
    "not_yet_met": ("bad", "cross"),
    "seen": ("none", "bar"),
    "none": ("none", "gap"),
}


@register.filter
def drawn(line: Line) -> SafeString:
    """Draw a line of progress small enough to stand beside others."""
    return _drawn(line, 150, 64)


@register.filter
def drawn_large(line: Line) -> SafeString:
    """Draw a line of progress to stand alone."""
    return _drawn(line, 340, 150)


@register.filter
def share(value: Exact | Share | None) -> str:
    """Return a share as a percentage in the reader's numbers; nothing where there is none."""
    found = value.value if isinstance(value, Share) else value
    return "" if found is None else str(percent(number_text(tidy(to_fraction(found)))))


@register.filter
def behind(value: Share) -> str:
    """Say how many criteria stand behind a share."""
    return ngettext(
        "from {counted} of {all} criterion", "from {counted} of {all} criteria", value.all
    ).format(counted=value.counted, all=value.all)


@register.simple_tag
def stands(line: Line) -> SafeString:
    """Show where an outcome stands after what was seen last: word, shape and colour."""
    return _status(line.word, get_language() or "")


@lru_cache(maxsize=64)
def _status(word: str, language: str) -> SafeString:
    # A cohort shows it in every cell, in four words at most: each is made once for a language.
    tone, shape = STANDS[word]
    context = {"word": _word(word), "tone": tone, "shape": shape}
    return mark_safe(render_to_string("includes/status.html", context).strip())


@register.simple_tag
def cell(line: Line) -> SafeString:
    """Show a line of progress beside others: drawing, where it stands, the shares in words.

    One piece and no template: a cohort has many of them.
    """
    parts: list[str] = [drawn(line), _status(line.word, get_language() or "")]
    if line.points:
        latest = line.points[-1][1]
        parts += [
            '<br><span class="small">',
            escape(f"{share(latest)} {behind(latest)}"),
            "</span>",
        ]
    if len(line.points) > 1:
        earlier = ", ".join(share(each) for _point, each in line.points[:-1])
        said_before = _("Before that: {shares}.").format(shares=earlier)
        parts += ['<span class="visually-hidden">', escape(said_before), "</span>"]
    return mark_safe("".join(parts))  # escaped above, or made of numbers


def _word(word: str) -> str:
    return {
        "met": _("Reaches the minimum"),
        "not_yet_met": _("Below the minimum"),
        "seen": _("No minimum set"),
        "none": _("Nothing seen yet"),
    }[word]


def _drawn(line: Line, width: int, height: int) -> SafeString:
    spots = [
        Spot(found.value, point.kind == ATTEMPT)
        for point, found in line.points
        if found.value is not None
    ]
    if not spots:
        return mark_safe("")
    minimum: Fraction | None = None if line.minimum is None else to_fraction(line.minimum)
    return mark_safe(progress_svg(spots, minimum, width=width, height=height))  # numbers alone
