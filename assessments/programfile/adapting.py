"""A program taken over for another site: the same file with other dimensions and limits.

What a person typed is put into the file as it stands, and the reader of program files says what
is wrong with it; there is one set of checks, whoever writes the file.
"""

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from typing import Any

from django.utils.translation import gettext as _

from assessments.programfile.differences import limits_worked_out
from assessments.programfile.faults import Fault
from assessments.programfile.schema import PROGRAM
from assessments.programfile.writing import dump
from training.said import said

ENDS = ("lower", "upper")


@dataclass(frozen=True)
class LimitRow:
    """A measured criterion as its file writes it, and what its limits come to."""

    key: str
    title: str
    stage: str
    unit: str
    lower: str
    upper: str
    source: str
    worked_out: tuple[str | None, str | None]


@dataclass(frozen=True)
class Adaptation:
    """What a person typed; each mapping goes by the dimension's name or the criterion's key.

    ``confirmed`` holds the criteria whose source was said to hold for the new limits too.
    """

    code: str
    title: str
    scope: str = ""
    note: str = ""
    dimensions: Mapping[str, str] = field(default_factory=dict)
    dimension_sources: Mapping[str, str] = field(default_factory=dict)
    limits: Mapping[str, tuple[str, str]] = field(default_factory=dict)
    sources: Mapping[str, str] = field(default_factory=dict)
    confirmed: frozenset[str] = frozenset()


def dimension_rows(document: Mapping[str, Any]) -> list[tuple[str, str]]:
    """Return (name, what the file writes) for each dimension, in order of name."""
    return [(name, str(value)) for name, value in _task(document).get("dimensions", {}).items()]


def limit_rows(document: Mapping[str, Any]) -> list[LimitRow]:
    """Return the measured criteria of a program document in their order."""
    task = _task(document)
    stages = {row["key"]: row["title"] for row in task["stages"]}
    worked_out = limits_worked_out(document)
    return [
        LimitRow(
            key=row["key"],
            title=row["title"],
            stage=stages[row["stage"]],
            unit=row["unit"],
            lower=str(row["limits"].get("lower", "")),
            upper=str(row["limits"].get("upper", "")),
            source=row["limits_source"],
            worked_out=worked_out[row["key"]][1],
        )
        for row in task["criteria"]
        if row["kind"] == "measured"
    ]


def _task(document: Mapping[str, Any]) -> Any:
    written: Any = PROGRAM.write(dict(document), None)
    return written["task"]


def adapted(document: Mapping[str, Any], typed: Adaptation, version: int) -> str:
    """Return the program file of ``document`` as it was adapted; what is wrong in it stays in.

    Its ``changes`` say from which version it was taken and which dimensions are new.
    """
    file: Any = PROGRAM.write({**document, "scope": typed.scope, "changes": "-"}, None)
    file |= {"code": typed.code, "version": version, "title": typed.title}
    file["changes"] = changes_text(document, typed)
    dimensions = file["task"].get("dimensions", {})
    dimensions |= {name: typed.dimensions.get(name, old) for name, old in dimensions.items()}
    for row in file["task"]["criteria"]:
        if row["kind"] == "measured" and row["key"] in typed.limits:
            ends = zip(ENDS, typed.limits[row["key"]], strict=True)
            row["limits"] = {end: text for end, text in ends if text}
            row["limits_source"] = typed.sources.get(row["key"], row["limits_source"])
    return dump(file)


def changes_text(document: Mapping[str, Any], typed: Adaptation) -> str:
    """Return where a copy came from, its new dimensions with their sources, and the note."""
    lines = [f"Copied from {document['code']}, version {document['version']}."]
    for name, old in dimension_rows(document):
        new = typed.dimensions.get(name, old)
        if new != old:
            source = typed.dimension_sources.get(name, "").rstrip(".")
            lines.append(f"Dimension {name}: {old} before, {new} now. Source: {source}.")
    return "\n".join([*lines, *([typed.note] if typed.note else [])])


def unconfirmed(
    before: Mapping[str, Any], after: Mapping[str, Any], typed: Adaptation
) -> Iterator[tuple[str, str]]:
    """Yield (field, sentence) for each change that came without its source.

    A limit has changed where it is written otherwise, or comes to something else because a
    dimension did; its source has to be written anew or confirmed.
    """
    for name, old in dimension_rows(before):
        new = typed.dimensions.get(name, old)
        if new != old and not typed.dimension_sources.get(name):
            yield (
                f"dimension_source-{name}",
                _("{name} was {before}: write where the new one comes from.").format(
                    name=name, before=old
                ),
            )
    old_rows = {row.key: row for row in limit_rows(before)}
    for row in limit_rows(after):
        old_row = old_rows[row.key]
        ends = (row.lower, row.upper, row.worked_out)
        same = ends == (old_row.lower, old_row.upper, old_row.worked_out)
        if not same and row.source == old_row.source and row.key not in typed.confirmed:
            was, now = (_(" to ").join(filter(None, each.worked_out)) for each in (old_row, row))
            yield (
                f"source-{row.key}",
                _(
                    "The limits were {before} and come to {now} now: write where they come from, "
                    "or confirm that this source holds for them too."
                ).format(before=was, now=now),
            )


PLACES = (
    (re.compile(r"task\.dimensions\.(\w+)"), "dimension-{}"),
    (re.compile(r"task\.criteria\[(\w+)\]\.limits\.lower"), "lower-{}"),
    (re.compile(r"task\.criteria\[(\w+)\]\.limits\.upper"), "upper-{}"),
    (re.compile(r"task\.criteria\[(\w+)\]\.limits"), "lower-{}"),
    (re.compile(r"task\.criteria\[(\w+)\]\.limits_source"), "source-{}"),
    (re.compile(r"(code|title|scope)"), "{}"),
    (re.compile(r"changes"), "note"),
)


def field_of(fault: Fault) -> tuple[str | None, str]:
    """Return the field of the form at which a fault of the file is told, and the sentence.

    The field is None where what is at fault cannot be typed there; the sentence names it then.
    """
    message = said(fault.message)
    for pattern, name in PLACES:
        match = pattern.fullmatch(fault.field)
        if match:
            return name.format(*match.groups()), f"{message[:1].upper()}{message[1:]}."
    place = fault.field or _("the text")
    return None, _("In the program's file, at {place}: {message}.").format(
        place=place, message=message
    )
