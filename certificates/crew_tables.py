"""The register as a table for a spreadsheet: CSV line by line, XLSX with days as days."""

import csv
from collections.abc import Iterable, Iterator
from datetime import date
from io import BytesIO, StringIO

from openpyxl import Workbook
from openpyxl.cell import Cell, WriteOnlyCell
from openpyxl.cell.cell import ILLEGAL_CHARACTERS_RE
from openpyxl.styles import Font
from openpyxl.utils import get_column_letter
from openpyxl.worksheet._write_only import WriteOnlyWorksheet

from assessments.exports import FORMULA
from certificates.queries.crew import Row

COLUMNS = (
    "Name", "Employer", "Program", "Code", "Version", "State", "Counts", "Record", "Issued on",
    "Valid until", "Confirm by", "Counts until",
)  # fmt: skip
WIDTHS = (28, 24, 32, 16, 8, 24, 8, 22, 12, 12, 12, 12)
DAY_FORMAT = "yyyy-mm-dd"

Value = str | int | date | None


def values(row: Row) -> tuple[Value, ...]:
    """Return the cells of a row, in the order of COLUMNS; None for an empty one."""
    return (
        row.holder,
        row.employer,
        row.program_title,
        row.program_code,
        row.program_version,
        row.tone[2],
        "yes" if row.counts else "no",
        row.number,
        row.issued_on,
        row.valid_until,
        row.confirm_by,
        # Of what never counts there is no last day to tell.
        row.counts_until if row.counts else None,
    )


def csv_lines(rows: Iterable[Row]) -> Iterator[bytes]:
    """Yield the table line by line, as UTF-8 with a byte order mark; days as in ISO 8601.

    Text that a spreadsheet would take for a formula has an apostrophe before it (OWASP, CSV
    injection).
    """
    line = StringIO(newline="")
    writer = csv.writer(line)
    writer.writerow(COLUMNS)
    yield line.getvalue().encode("utf-8-sig")
    for row in rows:
        line.seek(0)
        line.truncate()
        writer.writerow([_guarded(value) for value in values(row)])
        yield line.getvalue().encode()


def xlsx(rows: Iterable[Row], title: str) -> bytes:
    """Return a workbook with one sheet: days are days, text is never a formula."""
    book = Workbook(write_only=True)
    sheet = book.create_sheet("Crew")
    sheet.freeze_panes = "A3"
    for place, width in enumerate(WIDTHS, start=1):
        sheet.column_dimensions[get_column_letter(place)].width = width
    bold = Font(bold=True)
    sheet.append([_cell(sheet, title, bold)])
    sheet.append([_cell(sheet, column, bold) for column in COLUMNS])
    for row in rows:
        sheet.append([_cell(sheet, value) for value in values(row)])
    out = BytesIO()
    book.save(out)
    return out.getvalue()


def _guarded(value: Value) -> Value:
    return f"'{value}" if isinstance(value, str) and value.startswith(FORMULA) else value


def _cell(sheet: WriteOnlyWorksheet, value: Value, font: Font | None = None) -> Cell:
    text = ILLEGAL_CHARACTERS_RE.sub(" ", value) if isinstance(value, str) else value
    made = WriteOnlyCell(sheet, value=text)
    if made.data_type == "f":
        made.data_type = "s"
    if isinstance(text, str) and text.startswith(FORMULA):
        made.quotePrefix = True
    if isinstance(text, date):
        made.number_format = DAY_FORMAT
    if font is not None:
        made.font = font
    return made
