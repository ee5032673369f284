"""The columns of the file, and how text stands in a cell."""

from __future__ import annotations

import re
from collections.abc import Iterable

from assessments.engine.qualification import Rules
from assessments.exports import FORMULA

REQUIRED = ("code", "title", "program", "places", "first day", "last day")
COLUMNS = (
    "code",
    "title",
    "work",
    "program",
    "version",
    "provider",
    "places",
    "first day",
    "last day",
    "masons per lead",
    "lead program",
    "lead version",
    "lead provider",
)
# Which column a fault of a field is told at.
COLUMN_OF = {
    "starts_on": "first day",
    "ends_on": "last day",
    "masons_per_lead": "masons per lead",
    "lead_program": "lead program",
}
ENDS = ("from", "to", "unit")
BETWEEN = " | "
_FORMULA = "".join(map(re.escape, FORMULA))
_GUARDED = re.compile(rf"'+[{_FORMULA}]")
_OPENS_FORMULA = re.compile(rf"'*[{_FORMULA}]")
_BAR = re.compile(r"(?<!\\)(?:\\\\)*\|")


def guarded(text: str) -> str:
    """Return ``text`` as no spreadsheet takes it for a formula: an apostrophe goes before it.

    Text that begins with apostrophes and then such a sign gets one more, so that ``unguarded``
    gives back every text.

    >>> guarded("=A1"), guarded("'=A1"), guarded("'t Hooft")
    ("'=A1", "''=A1", "'t Hooft")
    """
    return f"'{text}" if _OPENS_FORMULA.match(text) else text


def unguarded(cell: str) -> str:
    """Return the text that ``guarded`` made the cell of.

    >>> unguarded("'=A1"), unguarded("''=A1"), unguarded("'t Hooft")
    ('=A1', "'=A1", "'t Hooft")
    """
    return cell[1:] if _GUARDED.match(cell) else cell


def joined(values: Iterable[str]) -> str:
    """Return several values in one cell, with a bar between them.

    >>> joined(["sill", "a|b"])
    'sill | a\\\\|b'
    """
    return BETWEEN.join(each.replace("\\", "\\\\").replace("|", "\\|") for each in values)


def parted(cell: str) -> list[str]:
    """Return the values that ``joined`` put into a cell, without empty ones.

    >>> parted("sill | a\\\\|b |")
    ['sill', 'a|b']
    """
    found, last = [], 0
    for bar in _BAR.finditer(cell):
        found.append(cell[last : bar.end() - 1])
        last = bar.end()
    found.append(cell[last:])
    plain = (re.sub(r"\\(.)", r"\1", each.strip()) for each in found)
    return [each for each in plain if each]


def condition_columns(rules: Rules) -> dict[str, tuple[str, str]]:
    """Return the columns of the rules' variables: {column: (key, part)}.

    The part is "" for values; a window has one column each for ``from``, ``to`` and ``unit``.
    A variable whose key is a column's name already is written ``condition KEY``.
    """
    found = {}
    for variable in rules.variables:
        if variable.kind == "window":
            found.update({f"{variable.key} {end}": (variable.key, end) for end in ENDS})
        else:
            found[values_column(variable.key)] = (variable.key, "")
            found[f"condition {variable.key}"] = (variable.key, "")
    return found


def values_column(key: str) -> str:
    """Return the column in which the values of a variable stand.

    >>> values_column("position"), values_column("title")
    ('position', 'condition title')
    """
    return f"condition {key}" if key.casefold() in COLUMNS else key
