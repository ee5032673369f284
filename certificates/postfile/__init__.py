"""Posts as a CSV file: read with every fault told at once, and written in the same form.

``fixtures/POSTS_FORMAT.md`` says what the columns hold.
"""

from certificates.postfile.columns import COLUMNS, REQUIRED
from certificates.postfile.known import completed
from certificates.postfile.lines import Line, Lines, read_lines
from certificates.postfile.rows import Catalogue, Typed, columns_of, read_row, unknown_columns
from certificates.postfile.write import posts_csv

__all__ = [
    "COLUMNS",
    "REQUIRED",
    "Catalogue",
    "Line",
    "Lines",
    "Typed",
    "columns_of",
    "completed",
    "posts_csv",
    "read_lines",
    "read_row",
    "unknown_columns",
]
