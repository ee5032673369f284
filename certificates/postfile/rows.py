"""From a row's cells to what is asked of a post, with every fault at its column."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date
from typing import Any
from uuid import UUID

from django.utils.translation import gettext as _

from assessments.engine.errors import EngineError
from assessments.engine.fields import at
from assessments.engine.qualification import Rules
from assessments.engine.units import UNITS
from certificates.actions.projects.guards import FieldFault
from certificates.actions.projects.values import PostValues
from certificates.postfile.columns import (
    COLUMN_OF,
    COLUMNS,
    ENDS,
    condition_columns,
    parted,
    values_column,
)
from certificates.postfile.lines import Line
from certificates.sizes import exact_size
from training.enrolfile import Fault
from training.models import Program
from training.said import said

_WHOLE = re.compile(r"[0-9]{1,9}", re.ASCII)
_DAY = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}", re.ASCII)


class WrongCellError(ValueError):
    """A cell that cannot be taken; ``column`` is where, the message what to write."""

    def __init__(self, column: str, message: str) -> None:
        super().__init__(message)
        self.column = column


@dataclass(frozen=True)
class Catalogue:
    """The programs that a file may name, the latest version first, and the rules of each."""

    programs: tuple[Program, ...]
    rules: Mapping[UUID, Rules | None]

    def find(self, cells: Mapping[str, str], prefix: str = "") -> Program:
        """Return the program named in a row; raises WrongCellError at the column at fault.

        Without a version it is the latest of which a passing standard is sealed; without a
        provider there must be only one that has a program of that code.
        """
        names = {each: f"{prefix}{each}" for each in ("program", "version", "provider")}
        code, version, provider = (cells.get(name, "") for name in names.values())
        found = [each for each in self.programs if each.code == code.upper()]
        if not found:
            raise WrongCellError(
                names["program"],
                _(
                    "No program with a sealed passing standard has the code “{code}”: write a "
                    "code as it stands on the program's page."
                ).format(code=code[:60]),
            )
        if provider:
            found = [e for e in found if e.provider.name.casefold() == provider.casefold()]
            if not found:
                raise WrongCellError(
                    names["provider"],
                    _(
                        "“{provider}” has no program {code} with a sealed standard: "
                        "write the training provider's name, or leave this empty."
                    ).format(provider=provider[:80], code=code.upper()),
                )
        if len({each.provider_id for each in found}) > 1:
            providers = sorted({each.provider.name for each in found})
            raise WrongCellError(
                names["provider"],
                _(
                    "Several training providers have a program {code}: write one of {providers}."
                ).format(code=code.upper(), providers=", ".join(providers)),
            )
        if version:
            found = [each for each in found if str(each.version) == version]
            if not found:
                raise WrongCellError(
                    names["version"],
                    _(
                        "{code} has no version “{version}” with a sealed standard: "
                        "write another, or leave this empty for the latest."
                    ).format(code=code.upper(), version=version[:20]),
                )
        return found[0]


@dataclass
class Typed:
    """A row as read: its ``values`` unless something is wrong with them, and the ``faults``."""

    number: int
    code: str
    values: PostValues | None = None
    faults: list[Fault] = field(default_factory=list)

    def at_columns(self, faults: Iterable[FieldFault]) -> None:
        """Add faults that were found field by field, each at its column."""
        for fault in faults:
            self.faults.append(Fault(self.number, _column(fault.field), fault.message))


def read_row(line: Line, catalogue: Catalogue) -> Typed:
    """Return what a row asks for; the same guards as a form's then judge the values."""
    typed = Typed(line.number, line.cells.get("code", ""))
    found: dict[str, Any] = {name: line.cells.get(name, "") for name in ("code", "title", "work")}
    for name, read in (
        ("program", lambda: catalogue.find(line.cells)),
        ("places", lambda: _whole(line.cells, "places")),
        ("starts_on", lambda: _day(line.cells, "first day")),
        ("ends_on", lambda: _day(line.cells, "last day")),
        ("masons_per_lead", lambda: _whole(line.cells, "masons per lead", empty=True)),
        ("lead_program", lambda: _lead(line.cells, catalogue)),
    ):
        try:
            found[name] = read()
        except WrongCellError as wrong:
            typed.faults.append(Fault(line.number, wrong.column, str(wrong)))
    if "program" in found:
        rules = catalogue.rules.get(found["program"].pk)
        found["conditions"] = _conditions(line, found["program"], rules, typed)
    if not typed.faults:
        typed.values = PostValues(**found)
    return typed


def unknown_columns(columns: Iterable[str], programs: Iterable[Program], rules: Any) -> list[str]:
    """Return the columns that are neither the file's own nor a variable of any of the programs."""
    known = {
        column.casefold()
        for program in programs
        if rules.get(program.pk)
        for column in condition_columns(rules[program.pk])
    }
    return [each for each in columns if each not in COLUMNS and each.casefold() not in known]


def _lead(cells: Mapping[str, str], catalogue: Catalogue) -> Program | None:
    if cells.get("lead program"):
        return catalogue.find(cells, "lead ")
    for column in ("lead version", "lead provider"):
        if cells.get(column):
            raise WrongCellError(
                "lead program",
                _("Write the program's code here, or empty {column}.").format(column=column),
            )
    return None


def _whole(cells: Mapping[str, str], column: str, *, empty: bool = False) -> int | None:
    typed = cells.get(column, "")
    if not typed and empty:
        return None
    if not _WHOLE.fullmatch(typed):
        message = (
            _("“{typed}” is no whole number: write digits alone, such as 3.")
            if typed
            else _("Write a whole number, digits alone, such as 3.")
        )
        raise WrongCellError(column, message.format(typed=typed[:40]))
    return int(typed)


def _day(cells: Mapping[str, str], column: str) -> date:
    typed = cells.get(column, "")
    try:
        if _DAY.fullmatch(typed):
            return date.fromisoformat(typed)
    except ValueError:
        raise WrongCellError(
            column, _("There is no day {typed}: check the month and the day.").format(typed=typed)
        ) from None
    message = (
        _(
            "“{typed}” may be read in more than one way: write year-month-day, such as 2027-03-08. "
            "In the spreadsheet, give the cell the format Text or yyyy-mm-dd."
        )
        if typed
        else _(
            "The day is missing: write year-month-day, such as 2027-03-08. In the spreadsheet, "
            "give the cell the format Text or yyyy-mm-dd."
        )
    )
    raise WrongCellError(column, message.format(typed=typed[:40]))


def _conditions(line: Line, program: Program, rules: Rules | None, typed: Typed) -> dict[str, Any]:
    known = condition_columns(rules) if rules else {}
    folded = {column.casefold(): place for column, place in known.items()}
    cells: dict[str, dict[str, str]] = {}
    for column, cell in line.cells.items():
        if column in COLUMNS or not cell:
            continue
        place = known.get(column) or folded.get(column.casefold())
        if place is None:
            typed.faults.append(Fault(line.number, column, _no_variable(program, rules)))
        elif place[1] in cells.get(place[0], {}):
            message = _("Another column asks the same of this post: leave one of the two empty.")
            typed.faults.append(Fault(line.number, column, message))
        else:
            cells.setdefault(place[0], {})[place[1]] = cell
    found: dict[str, Any] = {}
    for key, parts in cells.items():
        if "" in parts:
            found[key] = _spelled(parted(parts[""]), key, rules)
            continue
        try:
            size = _size(parts)
        except EngineError as error:
            typed.faults.append(Fault(line.number, f"{key} {error.path}", said(error.message)))
        else:
            found[key] = size
    return found


def _size(parts: Mapping[str, str]) -> dict[str, str]:
    """Return a size as a need document holds it; EngineError at ``from``, ``to`` or ``unit``."""
    unit = parts.get("unit", "")
    if unit not in UNITS:
        message = (
            _("“{unit}” is no unit known here: write such as in or mm.")
            if unit
            else _("Write the unit here, such as in or mm.")
        )
        raise EngineError("unit", message.format(unit=unit[:20]))
    found = {}
    for end in ("from", "to"):
        if end in parts:
            with at(end):
                found[end] = exact_size(parts[end], unit)
    if not found:
        raise EngineError("unit", _("Write a size beside this unit, or empty it."))
    return {**found, "unit": unit}


def _spelled(values: list[str], key: str, rules: Rules | None) -> list[str]:
    """Return the values as the rules write them, where only capitals or spaces differ."""
    variable = rules.variable(key) if rules else None
    written = {_plain(each): each for each in variable.values} if variable else {}
    return [written.get(_plain(each), each) for each in values]


def _plain(text: str) -> str:
    return " ".join(text.split()).casefold()


def _no_variable(program: Program, rules: Rules | None) -> str:
    if rules is None:
        return _(
            "The sealed standard of {code}, version {version}, has no rules "
            "about conditions: empty this cell."
        ).format(code=program.code, version=program.version)
    return _(
        "{code}, version {version}, has no such variable: empty this cell. "
        "Its columns are {columns}."
    ).format(code=program.code, version=program.version, columns=", ".join(columns_of(rules)))


def columns_of(rules: Rules) -> list[str]:
    """Return the columns in which a program's conditions are written, in the rules' order."""
    found: list[str] = []
    for variable in rules.variables:
        if variable.kind == "window":
            found += [f"{variable.key} {end}" for end in ENDS]
        else:
            found.append(values_column(variable.key))
    return found


def _column(name: str) -> str:
    """Return the column of a field, or of a condition's path such as ``depth.to``."""
    if not name.startswith("conditions."):
        return COLUMN_OF.get(name, name)
    key, _unused, part = name.removeprefix("conditions.").partition(".")
    return f"{key} {part}" if part else values_column(key)
