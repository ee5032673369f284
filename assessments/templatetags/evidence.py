"""How sections of evidence are shown, on pages and on paper."""

import re
from collections.abc import Mapping
from typing import Any

from django import template
from django.utils.html import conditional_escape, format_html
from django.utils.safestring import SafeString, mark_safe

from assessments.sections import LaidOut
from assessments.sections import figure_words as words_of
from assessments.sections import laid_out as lay_out
from assessments.sections import shown as as_shown

register = template.Library()
ROOT = re.compile(r"<svg\b[^>]*>")
NAMED = re.compile(r"""\s(role|aria-label|aria-labelledby|aria-describedby)=("[^"]*"|'[^']*')""")


@register.filter
def figure_words(figure: Mapping[str, Any]) -> str:
    """Return a computed figure with its interval, such as ``0.74 (95 %: 0.61 to 0.85)``."""
    return words_of(figure)


@register.filter
def shown(value: str | int) -> str:
    """Return a number of a section as it is read."""
    return as_shown(value)


@register.filter
def laid_out(table: Mapping[str, Any]) -> LaidOut:
    """Return a table of a section, ready to be shown."""
    return lay_out(table)


@register.filter
def drawing(found: Mapping[str, Any]) -> SafeString:
    """Return the SVG of a drawing with its alternative as title and label.

    The SVG is that of ``assessments.evidence.drawings``, which escapes every text.
    """
    svg = found["svg"]
    root = ROOT.search(svg)
    assert root is not None, "a drawing is an SVG"
    opened = NAMED.sub("", root.group())[len("<svg") :]
    words = conditional_escape(found["alternative"])
    head = format_html('<svg role="img" aria-label="{}"', found["alternative"])
    rest = re.sub(r"^\s*<title>.*?</title>", "", svg[root.end() :], flags=re.DOTALL)
    return mark_safe(f"{head}{opened}<title>{words}</title>{rest}")  # words are escaped
