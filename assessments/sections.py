"""How a section of evidence reads: numbers as people write them, tables with their columns.

A section is the plain data of ``assessments.evidence.results.section_document``: its numbers are
whole numbers, or text with at most six places.
"""

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from django.utils.translation import gettext as _

NUMBER = re.compile(r"-?(0|[1-9][0-9]*)(\.[0-9]*[1-9])?")
MOST_PLACES = 4
WIDE = 6


@dataclass(frozen=True)
class Cell:
    """A cell as it is shown; ``label`` is the title of its column."""

    text: str
    label: str
    number: bool


@dataclass(frozen=True)
class LaidOut:
    """A table to be shown: columns as (title, whether numbers), rows of cells, and its width."""

    key: str
    title: str
    columns: list[tuple[str, bool]]
    rows: list[list[Cell]]
    wide: bool


def is_number(cell: object) -> bool:
    """Say whether a cell holds a number, in the one form in which sections write them.

    >>> is_number(3), is_number("0.25"), is_number("1.10"), is_number("007"), is_number(True)
    (True, True, False, False, False)
    """
    if isinstance(cell, str):
        return NUMBER.fullmatch(cell) is not None
    return isinstance(cell, int) and not isinstance(cell, bool)


def places_of(value: str | int) -> int:
    """Return how many decimal places a number is worth: two, or two figures that are not nought.

    >>> [places_of(each) for each in (12, "0.7432", "0.03114", "-0.000218", "133.25")]
    [0, 2, 3, 4, 1]
    """
    text = str(value)
    if "." not in text:
        return 0
    size = abs(float(text))
    places = 1 if size >= 100 else 2
    while size < 10 ** (1 - places) and places < MOST_PLACES:
        places += 1
    return places


def shown(value: str | int, places: int | None = None) -> str:
    """Return a number of a section as it is read, with a true minus sign.

    >>> shown("0.743218"), shown("-0.03114"), shown(12), shown("1", 2)
    ('0.74', '−0.031', '12', '1.00')
    """
    text = f"{float(value):.{places_of(value) if places is None else places}f}"
    # What rounds to nought has no sign.
    return text.replace("-", "" if float(text) == 0 else "−")


def figure_words(figure: Mapping[str, Any]) -> str:
    """Return a computed figure with its interval, such as ``0.74 (95 %: 0.61 to 0.85)``."""
    value, low, high = figure["value"], figure["low"], figure["high"]
    known = [each for each in (value, low, high) if each is not None]
    places = max(places_of(each) for each in known)
    if places and low is not None and high is not None and low != high:
        # Two figures of the width say enough: an end near nought asks for no more.
        places = places_of(f"{float(high) - float(low):.6f}")
    said = shown(value, places)
    if low is None and high is None:
        return said
    level = f"{shown(str(float(figure['level']) * 100), 0)} %"
    if low is None:
        return _("{figure} ({level}: up to {high})").format(
            figure=said, level=level, high=shown(high, places)
        )
    if high is None:
        return _("{figure} ({level}: {low} or more)").format(
            figure=said, level=level, low=shown(low, places)
        )
    return _("{figure} ({level}: {low} to {high})").format(
        figure=said, level=level, low=shown(low, places), high=shown(high, places)
    )


def laid_out(table: Mapping[str, Any]) -> LaidOut:
    """Return a table to be shown: a column of numbers has the same places all the way down."""
    titles: Sequence[str] = table["columns"]
    rows: Sequence[Sequence[Any]] = table["rows"]
    numbers = [is_column_of_numbers(table, place) for place in range(len(titles))]
    places = [
        max((places_of(row[place]) for row in rows if row[place] is not None), default=0)
        if numbers[place]
        else None
        for place in range(len(titles))
    ]
    return LaidOut(
        key=table["key"],
        title=table["title"],
        columns=list(zip(titles, numbers, strict=True)),
        rows=[
            [
                Cell(_text(cell, places[place]), titles[place], numbers[place])
                for place, cell in enumerate(row)
            ]
            for row in rows
        ],
        wide=len(titles) > WIDE,
    )


def is_column_of_numbers(table: Mapping[str, Any], place: int) -> bool:
    """Say whether a column holds numbers and gaps alone."""
    cells = [row[place] for row in table["rows"] if row[place] is not None]
    return bool(cells) and all(is_number(cell) for cell in cells)


def _text(cell: Any, places: int | None) -> str:
    if cell is None:
        return ""
    if isinstance(cell, bool):
        return _("yes") if cell else _("no")
    if places is None:
        return shown(cell) if is_number(cell) else str(cell)
    return shown(cell, places)
