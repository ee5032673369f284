"""What changed between two programs, in the words of their files: nothing is left out.

Both programs are written as their files would be, and compared part by part. Records are matched
by their key, so a criterion that moved is moved, not removed and added.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import zip_longest
from typing import Any, Literal

from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop as N_

from assessments.engine.kinds import Measured
from assessments.engine.standard import load_standard
from assessments.programfile.schema import PROGRAM
from assessments.programfile.standard import standard_from_program
from assessments.programfile.wording import CHOSEN, PARTS, PROGRAM_PART, shown, word

Kind = Literal["added", "removed", "changed", "moved"]
# The version and its author's words stand beside the changes.
ASIDE = ("format", "version", "changes")
NAMES = ("key", "name", "hazard", "sum")
LIMITS = ((N_("lower limit, worked out"), 0), (N_("upper limit, worked out"), 1))


@dataclass(frozen=True)
class Change:
    """One difference: the part of the program, the place in it, what differs, and both texts."""

    part: str
    place: str
    what: str
    kind: Kind
    before: str
    after: str


def changes_between(before: Mapping[str, Any], after: Mapping[str, Any]) -> list[Change]:
    """Return what differs between two program documents, in the order of the program file.

    Where a dimension changes what a limit comes to, the limit is named too, worked out.
    """
    first, second = _written(before), _written(after)
    found: list[Change] = []
    for name in _names(first, second):
        if name not in ASIDE:
            found += _part(name, first.get(name), second.get(name))
    return [*found, *_worked_out(before, after)]


def _written(document: Mapping[str, Any]) -> Mapping[str, Any]:
    written = PROGRAM.write(dict(document), None)
    assert isinstance(written, dict)
    return written


def _names(first: Mapping[str, Any], second: Mapping[str, Any]) -> list[str]:
    return [*second, *(name for name in first if name not in second)]


def _part(name: str, first: Any, second: Any) -> Iterator[Change]:
    if name == "task":
        first, second = first or {}, second or {}
        for inner in _names(first, second):
            yield from _compare(
                PARTS.get(inner, PARTS["task"]), "", inner, first.get(inner), second.get(inner)
            )
    else:
        yield from _compare(PARTS.get(name, PROGRAM_PART), "", name, first, second)


def _compare(
    part: str, place: str, name: str, first: Any, second: Any, *, chosen: bool = False
) -> Iterator[Change]:
    """Yield the changes of one value; ``name`` is what it is called in the file.

    ``chosen`` says that the program's author chose the name, so that it is said as it stands.
    """
    if first == second:
        return
    kinds = {type(each) for each in (first, second) if each is not None}
    if all(issubclass(kind, dict) for kind in kinds):
        first, second = first or {}, second or {}
        for inner in _names(first, second):
            here = place if name in (*PARTS, "limits") else _joined(place, word(name))
            inside = first.get(inner), second.get(inner)
            yield from _compare(part, here, inner, *inside, chosen=name in CHOSEN)
    elif _records(first) and _records(second):
        yield from _list(part, place, name, first or [], second or [])
    else:
        what = name if chosen else word(name, part)
        yield _change(part, place, what, shown(first), shown(second))


def _records(value: Any) -> bool:
    return value is None or (
        isinstance(value, list) and all(isinstance(each, dict) for each in value)
    )


def _joined(*names: str) -> str:
    return ", ".join(name for name in names if name)


def _list(
    part: str, place: str, name: str, first: Sequence[Any], second: Sequence[Any]
) -> Iterator[Change]:
    """Yield the changes of a list of records, matched by name, or by place without one."""
    old_rows, new_rows = _by_name(first), _by_name(second)
    if old_rows is None or new_rows is None:
        for number, (old, new) in enumerate(zip_longest(first, second), start=1):
            yield from _record(part, _joined(place, f"{word(name)} {number}"), old, new)
        return
    for key in _names(old_rows, new_rows):
        old, new = old_rows.get(key), new_rows.get(key)
        yield from _record(part, _joined(place, _title(key, new or old)), old, new)
    kept = [key for key in old_rows if key in new_rows]
    now = [key for key in new_rows if key in old_rows]
    if kept != now:
        yield Change(
            part,
            place,
            _("order of {what}").format(what=word(name)),
            "moved",
            shown(kept),
            shown(now),
        )


def _by_name(rows: Sequence[Mapping[str, Any]]) -> dict[str, Mapping[str, Any]] | None:
    """Return the rows by their name; None where they have none, or share one."""
    found = {}
    for row in rows:
        name = next((str(row[each]) for each in NAMES if each in row), None)
        if name is None or name in found:
            return None
        found[name] = row
    return found


def _title(key: str, row: Any) -> str:
    title = str(row.get("title", ""))
    return f"{key} ({title})" if title and title != key else key


def _record(part: str, place: str, old: Any, new: Any) -> Iterator[Change]:
    if old is None or new is None:
        yield _change(part, place, "", shown(old), shown(new))
        return
    for name in _names(old, new):
        yield from _compare(part, place, name, old.get(name), new.get(name))


def _change(part: str, place: str, what: str, before: str, after: str) -> Change:
    kind: Kind = "changed" if before and after else "added" if after else "removed"
    return Change(part, place, what, kind, before, after)


def _worked_out(before: Mapping[str, Any], after: Mapping[str, Any]) -> Iterator[Change]:
    """Yield the limits that come to something else although they are written alike."""
    old, new = limits_worked_out(before), limits_worked_out(after)
    written = [
        {row["key"]: row.get("limits") for row in each["task"]["criteria"]}
        for each in (before, after)
    ]
    for key, (title, texts) in new.items():
        if key not in old or written[0][key] != written[1][key]:
            continue
        for what, end in LIMITS:
            first, second = old[key][1][end] or "", texts[end] or ""
            if first != second:
                yield _change(
                    PARTS["criteria"], _title(key, {"title": title}), _(what), first, second
                )


def limits_worked_out(
    document: Mapping[str, Any],
) -> dict[str, tuple[str, tuple[str | None, str | None]]]:
    """Return, for each measured criterion by key, its title and what its limits come to, as text.

    Raises EngineError for a program that no file can hold; what was loaded never is one.
    """
    standard = load_standard(standard_from_program(dict(document)))
    return {
        each.key: (each.title, _limit_texts(each.rule))
        for each in standard.criteria
        if isinstance(each.rule, Measured)
    }


def _limit_texts(rule: Measured) -> tuple[str | None, str | None]:
    lower, upper = rule.limits.lower, rule.limits.upper
    return (
        None if lower is None else rule.show(lower),
        None if upper is None else rule.show(upper),
    )
