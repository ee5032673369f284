"""From the text of a CSV file to rows of cells, and what stopped the reading."""

import csv
import io
from dataclasses import dataclass

from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop as N_

SEPARATORS = (",", ";", "\t")
STOPPED = {
    "list": N_(
        "From here on the list cannot be read ({error}). Look for a quotation mark that "
        'is not closed; inside a quoted cell, write it twice ("").'
    ),
    "file": N_(
        "From here on the file cannot be read ({error}). Look for a quotation mark that "
        'is not closed; inside a quoted cell, write it twice ("").'
    ),
}


@dataclass(frozen=True)
class Fault:
    """What is wrong in a row, in which column (None: the row as a whole), and what to write."""

    row: int
    column: str | None
    message: str


def read_records(text: str, *, what: str) -> tuple[list[tuple[int, list[str]]], Fault | None]:
    """Return the rows that hold something, by number, and where reading had to stop.

    ``text`` is not blank; its first row that holds something tells the separator: comma,
    semicolon or tab. ``what`` is a key of STOPPED. Rows count as a spreadsheet
    does, from 1.
    """
    start = next(line for line in text.splitlines() if line.strip())
    separator = max(SEPARATORS, key=start.count)
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=separator, strict=True)
    found: list[tuple[int, list[str]]] = []
    number = 0
    try:
        for number, cells in enumerate(reader, 1):
            if any(cell.strip() for cell in cells):
                found.append((number, cells))
    except csv.Error as error:
        message = _(STOPPED[what]).format(error=error)
        return found, Fault(number + 1, None, message)
    return found, None
