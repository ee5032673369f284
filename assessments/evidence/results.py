"""What every analysis gives back: figures with intervals, tables, drawings, in sections."""

from __future__ import annotations

from dataclasses import dataclass
from math import isfinite
from typing import Any

from assessments.evidence.errors import EvidenceError

Cell = str | int | float | None
LEVEL = 0.95


@dataclass(frozen=True, slots=True)
class Figure:
    """A number with its interval and with how both were come by.

    ``value``, ``low``, ``high`` and ``standard_error`` are in the unit that the title names (a
    share from 0 to 1 unless it says otherwise). ``interval`` says how the interval was made,
    ``source`` where the formula is published. ``indicative`` marks what one administration to
    a small cohort cannot carry alone.
    """

    key: str
    title: str
    value: float
    low: float | None = None
    high: float | None = None
    standard_error: float | None = None
    level: float = LEVEL
    interval: str = ""
    n: int | None = None
    indicative: bool = False
    notes: tuple[str, ...] = ()
    source: str = ""

    def __post_init__(self) -> None:
        for name in ("value", "low", "high", "standard_error"):
            number = getattr(self, name)
            if number is not None and not isfinite(number):
                raise EvidenceError(f"{self.key}.{name}", "This is no number: say why instead.")


@dataclass(frozen=True, slots=True)
class NotComputed:
    """A figure that there is not, with the reason in a sentence that says what would help."""

    key: str
    title: str
    reason: str


Result = Figure | NotComputed


@dataclass(frozen=True, slots=True)
class Table:
    """Rows under column titles, for a page, a PDF, CSV and XLSX alike; None is an empty cell.

    ``first``: to be read at once; a page folds the other tables away until they are asked for.
    """

    key: str
    title: str
    columns: tuple[str, ...]
    rows: tuple[tuple[Cell, ...], ...]
    first: bool = False

    def __post_init__(self) -> None:
        for number, row in enumerate(self.rows):
            if len(row) != len(self.columns):
                raise EvidenceError(
                    f"{self.key}.rows[{number}]", f"The row needs {len(self.columns)} cells."
                )


@dataclass(frozen=True, slots=True)
class Drawing:
    """An SVG without scripts, style attributes or outside links, and the words that say it."""

    key: str
    title: str
    alternative: str
    svg: str


@dataclass(frozen=True, slots=True)
class Section:
    """One analysis, ready to be shown: the sentence to read first, then what it rests on."""

    key: str
    title: str
    summary: str
    figures: tuple[Result, ...] = ()
    tables: tuple[Table, ...] = ()
    drawings: tuple[Drawing, ...] = ()
    notes: tuple[str, ...] = ()


def number(value: float | None) -> str | None:
    """A number as documents hold it: text with at most six places, never a float.

    >>> number(0.7730000001), number(12.0), number(None)
    ('0.773', '12', None)
    """
    if value is None:
        return None
    text = f"{value:.6f}".rstrip("0").rstrip(".")
    return "0" if text in ("-0", "") else text


def section_document(section: Section) -> dict[str, Any]:
    """The section as plain data: strings, whole numbers, booleans, null, lists and objects."""
    return {
        "key": section.key,
        "title": section.title,
        "summary": section.summary,
        "figures": [_figure_document(result) for result in section.figures],
        "tables": [
            {
                "key": table.key,
                "title": table.title,
                "columns": list(table.columns),
                "rows": [[_cell(cell) for cell in row] for row in table.rows],
                "first": table.first,
            }
            for table in section.tables
        ],
        "drawings": [
            {
                "key": drawing.key,
                "title": drawing.title,
                "alternative": drawing.alternative,
                "svg": drawing.svg,
            }
            for drawing in section.drawings
        ],
        "notes": list(section.notes),
    }


def _figure_document(result: Result) -> dict[str, Any]:
    if isinstance(result, NotComputed):
        return {"key": result.key, "title": result.title, "not_computed": result.reason}
    return {
        "key": result.key,
        "title": result.title,
        "value": number(result.value),
        "low": number(result.low),
        "high": number(result.high),
        "standard_error": number(result.standard_error),
        "level": number(result.level),
        "interval": result.interval,
        "n": result.n,
        "indicative": result.indicative,
        "notes": list(result.notes),
        "source": result.source,
    }


def _cell(cell: Cell) -> str | int | None:
    return number(cell) if isinstance(cell, float) else cell
