"""From text to cells by column: separators, quotation marks and the header."""

from __future__ import annotations

from dataclasses import dataclass

from django.utils.translation import gettext as _

from certificates.postfile.columns import COLUMNS, REQUIRED, unguarded
from certificates.wording import count
from training.enrolfile import Fault, read_records

MAXIMUM_ROWS = 500
MAXIMUM_CHARACTERS = 1_000_000
MAXIMUM_COLUMNS = 200


@dataclass(frozen=True)
class Line:
    """A row's cells by column; ``number`` counts as a spreadsheet does, the header being 1."""

    number: int
    cells: dict[str, str]


@dataclass(frozen=True)
class Lines:
    """A file as read: the columns in their order, the rows below, and what stopped the reading."""

    columns: tuple[str, ...]
    lines: tuple[Line, ...]
    faults: tuple[Fault, ...]


def read_lines(text: str) -> Lines:
    """Return the rows of ``text`` and every fault of its form; never raises for bad content.

    The separator is a comma, semicolon or tab, as in the header; the header's own names are
    known in any case and order.
    """
    fault = _unreadable(text)
    if fault:
        return Lines((), (), (Fault(1, None, fault),))
    records, stopped = read_records(text.removeprefix("\ufeff"), what="file")
    first, columns, faults = _header(records)
    if faults:
        return Lines((), (), tuple(Fault(first, None, each) for each in faults))
    width = max(columns) + 1
    found, wrong = [], [stopped] if stopped else []
    for number, cells in records[1:]:
        if any(cell.strip() for cell in cells[width:]):
            message = _(
                "This row has {number} cells, the header {width}: put a cell that holds a "
                "separator, such as a comma, in quotation marks."
            ).format(number=len(cells), width=width)
            wrong.append(Fault(number, None, message))
            continue
        typed = [*cells, *[""] * (width - len(cells))]
        found.append(
            Line(number, {column: unguarded(typed[i].strip()) for i, column in columns.items()})
        )
    if not found and not wrong:
        wrong.append(
            Fault(first + 1, None, _("There is no post below the header: add a row each."))
        )
    if len(records) - 1 > MAXIMUM_ROWS:
        message = _("The file has {number} posts: {most} at most. Split it.").format(
            number=count(len(records) - 1), most=MAXIMUM_ROWS
        )
        return Lines((), (), (Fault(first, None, message),))
    return Lines(tuple(columns.values()), tuple(found), tuple(wrong))


def _unreadable(text: str) -> str | None:
    if len(text) > MAXIMUM_CHARACTERS:
        return _("The file is longer than {most} characters: split it.").format(
            most=count(MAXIMUM_CHARACTERS)
        )
    if "\x00" in text:
        return _("The file holds a NUL character: save it as CSV UTF-8 and try again.")
    if not text.removeprefix("\ufeff").strip():
        return _("The file is empty: write a header with {required}, then a row a post.").format(
            required=", ".join(REQUIRED)
        )
    return None


def _header(
    records: list[tuple[int, list[str]]],
) -> tuple[int, dict[int, str], list[str]]:
    """Return the header's row, its columns by place, and what is wrong with it."""
    first, cells = records[0] if records else (1, [])
    columns: dict[int, str] = {}
    faults = []
    for i, cell in enumerate(cells):
        name = " ".join(unguarded(cell.strip()).split())
        plain = name.casefold()
        name = plain if plain in COLUMNS else name
        if name in columns.values():
            faults.append(
                _("The column “{name}” stands twice in the header: leave one.").format(
                    name=name[:60]
                )
            )
        if name:
            columns[i] = name
        elif any(len(row) > i and row[i].strip() for _unused, row in records[1:]):
            faults.append(
                _("Column {number} holds something but has no name in the header.").format(
                    number=i + 1
                )
            )
    missing = [name for name in REQUIRED if name not in columns.values()]
    if missing:
        faults.append(
            _("The header has no column {missing}. It needs {required}.").format(
                missing=", ".join(missing), required=", ".join(REQUIRED)
            )
        )
    if len(columns) > MAXIMUM_COLUMNS:
        faults = [
            _("The header has {number} columns: {most} at most.").format(
                number=len(columns), most=MAXIMUM_COLUMNS
            )
        ]
    return first, columns, faults
