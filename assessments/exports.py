"""Tables of evidence for a spreadsheet: CSV and XLSX.

A table is the plain data of a section: {key, title, columns, rows}.
"""

import csv
from collections.abc import Mapping, Sequence
from io import BytesIO, StringIO
from typing import Any

from openpyxl import Workbook
from openpyxl.cell import Cell, WriteOnlyCell
from openpyxl.cell.cell import ILLEGAL_CHARACTERS_RE
from openpyxl.styles import Font
from openpyxl.utils import get_column_letter
from openpyxl.worksheet._write_only import WriteOnlyWorksheet

from assessments.sections import is_number

Table = Mapping[str, Any]
# A spreadsheet takes a cell that begins so for a formula (OWASP, CSV injection).
FORMULA = ("=", "+", "-", "@", "\t", "\r")
SHEET_NAME = 31
NOT_IN_SHEET_NAMES = str.maketrans(dict.fromkeys("[]:*?/\\'", " "))
WIDEST = 60


def tables_csv(tables: Sequence[Table]) -> bytes:
    """Return the tables one after another, each below its title, as UTF-8 with a byte order mark.

    Text that a spreadsheet would take for a formula has an apostrophe before it; numbers stay
    as they are.
    """
    out = StringIO(newline="")
    writer = csv.writer(out)
    for place, table in enumerate(tables):
        if place:
            writer.writerow([])
        writer.writerow([_guarded(table["title"])])
        writer.writerow([_guarded(title) for title in table["columns"]])
        for row in table["rows"]:
            writer.writerow([_csv_cell(cell) for cell in row])
    return out.getvalue().encode("utf-8-sig")


def tables_xlsx(tables: Sequence[Table]) -> bytes:
    """Return a workbook with a sheet for each table: numbers as numbers, the header row frozen.

    Text is never a formula. The first row of a sheet holds the column titles.
    """
    book = Workbook(write_only=True)
    names: set[str] = set()
    for table in tables or [{"key": "empty", "title": "No tables", "columns": [], "rows": []}]:
        name = _sheet_name(table["title"], names)
        names.add(name.lower())
        sheet = book.create_sheet(name)
        sheet.freeze_panes = "A2"
        for place, title in enumerate(table["columns"]):
            width = max(
                [len(str(title)), *(len(str(row[place] or "")) for row in table["rows"])], default=8
            )
            letter = get_column_letter(place + 1)
            sheet.column_dimensions[letter].width = min(width + 2, WIDEST)
        sheet.append([_text_cell(sheet, title, Font(bold=True)) for title in table["columns"]])
        for row in table["rows"]:
            sheet.append([_xlsx_cell(sheet, cell) for cell in row])
    out = BytesIO()
    book.save(out)
    return out.getvalue()


def figures_table(section: Mapping[str, Any]) -> dict[str, Any]:
    """Return the figures of a section as a table; a figure not computed has its reason."""
    return {
        "key": f"{section['key']}_figures",
        "title": f"{section['title']}: figures",
        "columns": [
            "Figure",
            "Value",
            "Low",
            "High",
            "Level",
            "Standard error",
            "Number",
            "Indicative",
            "Interval",
            "Not computed because",
            "Notes",
            "Source",
        ],
        "rows": [_figure_row(figure) for figure in section["figures"]],
    }


def tables_of(sections: Sequence[Mapping[str, Any]]) -> list[dict[str, Any]]:
    """Return what sections hold, for a spreadsheet: of each its figures, then its tables."""
    found: list[dict[str, Any]] = []
    for section in sections:
        if section["figures"]:
            found.append(figures_table(section))
        found.extend(section["tables"])
    return found


def _figure_row(figure: Mapping[str, Any]) -> list[Any]:
    if "not_computed" in figure:
        gaps: list[Any] = [None] * 8
        return [figure["title"], *gaps, figure["not_computed"], None, None]
    return [
        figure["title"],
        figure["value"],
        figure["low"],
        figure["high"],
        figure["level"],
        figure["standard_error"],
        figure["n"],
        "yes" if figure["indicative"] else "no",
        figure["interval"] or None,
        None,
        " ".join(figure["notes"]) or None,
        figure["source"] or None,
    ]


def _csv_cell(cell: Any) -> Any:
    if cell is None or is_number(cell):
        return cell
    return _guarded(_words(cell))


def _guarded(text: str) -> str:
    return f"'{text}" if text.startswith(FORMULA) else text


def _words(cell: Any) -> str:
    if isinstance(cell, bool):
        return "yes" if cell else "no"
    return str(cell)


def _xlsx_cell(sheet: WriteOnlyWorksheet, cell: Any) -> Cell | None:
    if cell is None:
        return None
    if is_number(cell):
        return WriteOnlyCell(sheet, value=float(cell) if "." in str(cell) else int(cell))
    return _text_cell(sheet, _words(cell))


def _text_cell(sheet: WriteOnlyWorksheet, text: str, font: Font | None = None) -> Cell:
    made = WriteOnlyCell(sheet, value=ILLEGAL_CHARACTERS_RE.sub(" ", text))
    if made.data_type == "f":
        made.data_type = "s"
    if text.startswith(FORMULA):
        made.quotePrefix = True
    if font is not None:
        made.font = font
    return made


def _sheet_name(title: str, taken: set[str]) -> str:
    base = " ".join(title.translate(NOT_IN_SHEET_NAMES).split()) or "Table"
    name, number = base[:SHEET_NAME].strip(), 1
    while name.lower() in taken:
        number += 1
        mark = f" {number}"
        name = base[: SHEET_NAME - len(mark)].strip() + mark
    return name
