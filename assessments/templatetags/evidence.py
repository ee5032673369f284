"""How sections of evidence are shown, on pages and on paper."""

import re
from collections.abc import Mapping
from dataclasses import replace
from html import unescape
from typing import Any

from django import template
from django.utils.html import conditional_escape, escape, format_html
from django.utils.safestring import SafeString, mark_safe

from assessments.lengths import numbers
from assessments.sections import LaidOut
from assessments.sections import figure_words as words_of
from assessments.sections import laid_out as lay_out
from assessments.sections import shown as as_shown
from assessments.wording.evidence.cells import said_of_section

register = template.Library()
register.filter("said", said_of_section)
ROOT = re.compile(r"<svg\b[^>]*>")
WRITTEN = re.compile(r"(<text\b[^>]*>)([^<]+)(?=</text>)")
NAMED = re.compile(r"""\s(role|aria-label|aria-labelledby|aria-describedby)=("[^"]*"|'[^']*')""")


@register.filter
def figure_words(figure: Mapping[str, Any]) -> str:
    """Return a computed figure with its interval, such as ``0.74 (95 %: 0.61 to 0.85)``."""
    return numbers(words_of(figure))


@register.filter
def shown(value: str | int) -> str:
    """Return a number of a section as it is read."""
    return numbers(as_shown(value))


@register.filter
def laid_out(table: Mapping[str, Any]) -> LaidOut:
    """Return a table of a section, ready to be shown in the reader's language."""
    found = lay_out(table)
    rows = [
        [
            replace(cell, text=said_of_section(cell.text), label=said_of_section(cell.label))
            for cell in row
        ]
        for row in found.rows
    ]
    columns = [(said_of_section(title), numbers) for title, numbers in found.columns]
    return replace(found, title=said_of_section(found.title), columns=columns, rows=rows)


@register.filter
def drawing(found: Mapping[str, Any]) -> SafeString:
    """Return the SVG of a drawing with its alternative as title and label.

    The SVG is that of ``assessments.evidence.drawings``, which escapes every text. What is
    written in it is said in the reader's language.
    """
    svg = WRITTEN.sub(_written_again, found["svg"])
    root = ROOT.search(svg)
    assert root is not None, "a drawing is an SVG"
    opened = NAMED.sub("", root.group())[len("<svg") :]
    alternative = said_of_section(found["alternative"])
    words = conditional_escape(alternative)
    head = format_html('<svg role="img" aria-label="{}"', alternative)
    rest = re.sub(r"^\s*<title>.*?</title>", "", svg[root.end() :], flags=re.DOTALL)
    return mark_safe(f"{head}{opened}<title>{words}</title>{rest}")  # words are escaped


def _written_again(found: re.Match[str]) -> str:
    told = said_of_section(unescape(found[2]))
    return found[0] if told == unescape(found[2]) else f"{found[1]}{escape(told)}"
