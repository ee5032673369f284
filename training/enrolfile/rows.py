"""From text to rows: separators, header, and what each cell must be."""

import csv
import io
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from django.utils.translation import gettext as _

from training.emails import clean_email
from training.enrolfile.records import Fault, read_records
from training.names import clean_name

COLUMNS = ("full_name", "email", "employer")
MAXIMUM_ROWS = 1_000
MAXIMUM_CHARACTERS = 1_000_000
_HEADER = ",".join(COLUMNS)


@dataclass(frozen=True)
class Row:
    """One trainee of the file; ``number`` counts as a spreadsheet does, the header being 1."""

    number: int
    full_name: str
    email: str
    employer: str


@dataclass(frozen=True)
class Table:
    """A file as read: clean ``rows``, ``faults``, and all cells as typed by row number.

    ``whole`` is False when reading stopped early: ``typed`` then lacks what came after.
    """

    rows: tuple[Row, ...]
    faults: tuple[Fault, ...]
    typed: dict[int, tuple[str, ...]]
    whole: bool = True


def read_table(text: str) -> Table:
    """Return the rows of ``text`` and every fault in them; never raises for bad content.

    The separator is a comma, semicolon or tab, as in the header. Cells are data: one that
    starts with an equals sign is kept as it is and run by nobody.
    """
    if len(text) > MAXIMUM_CHARACTERS:
        return _nothing(
            1,
            _("The list is longer than {most:,} characters: split it.").format(
                most=MAXIMUM_CHARACTERS
            ),
        )
    text = text.removeprefix("\ufeff")
    if "\x00" in text:
        return _nothing(1, _("The list holds a NUL character: save it as CSV UTF-8 and try again."))
    if not text.strip():
        return _nothing(
            1,
            _("The list is empty: write a header {header}, then a row a trainee.").format(
                header=_HEADER
            ),
        )
    records, stopped = read_records(text, what="list")
    order = _header(records)
    if isinstance(order, Fault):
        return Table((), (order,), {}, whole=False)
    rows, faults, typed = _body(records, order)
    if stopped:
        faults.append(stopped)
    if len(typed) > MAXIMUM_ROWS:
        return _nothing(
            1,
            _("The list has {count:,} rows: {most:,} at most. Split it.").format(
                count=len(typed), most=MAXIMUM_ROWS
            ),
        )
    if not typed and not faults:
        faults.append(Fault(2, None, _("There is no trainee below the header: add a row each.")))
    return Table(tuple(rows), tuple(faults), typed, whole=stopped is None)


def to_text(rows: Iterable[tuple[str, ...]]) -> str:
    """Return a list as ``read_table`` takes it, with its header."""
    out = io.StringIO()
    writer = csv.writer(out)  # its own line end: a bare carriage return in a cell gets quoted
    writer.writerow(COLUMNS)
    writer.writerows(rows)
    return out.getvalue()


def _nothing(row: int, message: str) -> Table:
    return Table((), (Fault(row, None, message),), {}, whole=False)


def _header(records: list[tuple[int, list[str]]]) -> dict[str, int] | Fault:
    first, cells = records[0] if records else (1, [])
    names = [cell.strip().casefold() for cell in cells]
    while names and not names[-1]:
        names.pop()
    unknown = [name for name in names if name not in COLUMNS]
    missing = [name for name in COLUMNS if name not in names]
    twice = sorted({name for name in names if names.count(name) > 1} - set(unknown))
    if missing or unknown or twice:
        said = [_("missing: {missing}").format(missing=", ".join(missing))] if missing else []
        said += (
            [
                _("unknown: {unknown}").format(
                    unknown=", ".join(f"“{name[:40]}”" for name in unknown)
                )
            ]
            if unknown
            else []
        )
        said += [_("twice: {twice}").format(twice=", ".join(twice))] if twice else []
        return Fault(
            first,
            None,
            _("The first row must be {header} ({said}).").format(
                header=_HEADER, said="; ".join(said)
            ),
        )
    return {name: names.index(name) for name in COLUMNS}


def _body(
    records: list[tuple[int, list[str]]], order: dict[str, int]
) -> tuple[list[Row], list[Fault], dict[int, tuple[str, ...]]]:
    rows: list[Row] = []
    faults: list[Fault] = []
    typed: dict[int, tuple[str, ...]] = {}
    seen: dict[str, int] = {}
    for number, cells in records[1:]:
        name, email, employer = (
            cells[order[column]].strip() if order[column] < len(cells) else "" for column in COLUMNS
        )
        typed[number] = (name, email, employer, *cells[len(COLUMNS) :])
        found = list(_cell_faults(number, cells, name, email, employer))
        if not found:
            row = Row(number, clean_name(name), clean_email(email), " ".join(employer.split()))
            if row.email in seen:
                found.append(
                    Fault(
                        number,
                        "email",
                        _("Row {row} has this address already.").format(row=seen[row.email]),
                    )
                )
            else:
                seen[row.email] = number
                rows.append(row)
        faults.extend(found)
    return rows, faults, typed


def _cell_faults(
    number: int, cells: list[str], name: str, email: str, employer: str
) -> Iterator[Fault]:
    if any(cell.strip() for cell in cells[len(COLUMNS) :]):
        yield Fault(
            number,
            None,
            _(
                "This row has {cells} cells, the header {columns}: put a cell that "
                "holds a separator in quotation marks."
            ).format(cells=len(cells), columns=len(COLUMNS)),
        )
        return
    for column, clean, value in (("full_name", clean_name, name), ("email", clean_email, email)):
        try:
            clean(value)
        except ValueError as error:
            yield Fault(number, column, str(error))
    if employer:
        try:
            clean_name(employer)
        except ValueError:
            yield Fault(number, "employer", _("Write the contractor's name, or leave it empty."))
