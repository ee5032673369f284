"""What changed between two programs: everything that differs is told, and nothing else.

The reference is the file itself: whatever line of it changes must show up in words.
"""

import copy
from collections.abc import Iterator
from itertools import islice
from pathlib import Path
from typing import Any

import pytest

from assessments.programfile.differences import Change, changes_between
from assessments.programfile.reading import read_program
from assessments.programfile.schema import PROGRAM
from tests.assessments.programfile.sources import SMALL, changed

PROGRAMS = sorted((Path(__file__).parents[3] / "fixtures" / "programs").glob("*.yaml"))
ASIDE = {"format", "version", "changes"}


def between(*changes: tuple[str, str]) -> list[Change]:
    before, after = (read_program(text, "a.yaml").document for text in (SMALL, changed(*changes)))
    there, back = changes_between(before, after), changes_between(after, before)
    # Seen from the other side, the same is told with both texts exchanged.
    assert {(each.before, each.after) for each in there} == {
        (each.after, each.before) for each in back
    }
    return there


def told(rows: list[Change]) -> list[tuple[str, str, str, str, str, str]]:
    return [(row.part, row.place, row.what, row.kind, row.before, row.after) for row in rows]


@pytest.mark.parametrize(
    ("old", "new", "expected"),
    [
        ("minutes: 60", "minutes: 90",
         ("Modules", "M1 (Cutting)", "minutes", "changed", "60", "90")),
        ("    minimum: 60 %\n", "",
         ("Outcomes", "O1", "lowest share", "removed", "60 %", "")),
        ("cut: 70 %", "cut: 75 %",
         ("Pass rule", "", "lowest overall score", "changed", "70 %", "75 %")),
        ("required: 1", "required: 2",
         ("Pass rule", "assessors", "assessors required", "changed", "1", "2")),
        ("upper: 6 1/16 in", "upper: 6 1/8 in",
         ("Criteria", "width (Width)", "upper limit", "changed", "6 1/16 in", "6 1/8 in")),
        ("lower: 24 h", "lower: 36 h",
         ("Criteria", "covered (Covered)", "lower limit", "changed", "24 h", "36 h")),
        ("serves: {O1: 1, O2: 1/2}", "serves: {O1: 1}",
         ("Criteria", "width (Width), weight in outcome", "O2", "removed", "1/2", "")),
        ("description: Whole", "description: Whole and crisp",
         ("Criteria", "arris (Arris), levels 2", "description", "changed", "Whole",
          "Whole and crisp")),
        ("value: Sandstone", "value: Limestone",
         ("Conditions", "Stone", "value", "changed", "Sandstone", "Limestone")),
        ("validity_months: 24", "validity_months: 36",
         ("Program", "", "months that a record is valid", "changed", "24", "36")),
        ("title: One sill", "title: One jamb",
         ("Practical task", "", "title", "changed", "One sill", "One jamb")),
        ("opening: 6 in\n", "opening: 6 in\n    wash_depth: 2 in\n",
         ("Dimensions", "", "wash_depth", "added", "", "2 in")),
        ("hold_point: yes", "hold_point: no",
         ("Stages", "fit (Dry fit)", "hold point", "changed", "yes", "no")),
    ],
)  # fmt: skip
def test_one_change_is_told_in_words(old: str, new: str, expected: tuple[str, ...]) -> None:
    assert told(between((old, new))) == [expected]


def test_a_limit_that_follows_a_dimension_is_named_too() -> None:
    """6 in less two joints of 1/8 in are 5 3/4 in, less two of 1/16 in 5 7/8 in: by hand."""
    assert told(between(("joint: 1/8 in", "joint: 1/16 in"))) == [
        ("Dimensions", "", "joint", "changed", "1/8 in", "1/16 in"),
        ("Criteria", "width (Width)", "lower limit, worked out", "changed", "5 3/4 in", "5 7/8 in"),
    ]


def test_a_criterion_is_added_whole_and_an_order_is_no_change_of_content() -> None:
    rows = [text for text in SMALL.split("    - key: ") if text.startswith("clean\n")]
    clean = "    - key: " + rows[0]
    (gone,) = between((clean, ""))
    assert (gone.kind, gone.place, gone.after) == ("removed", "clean (Clean)", "")
    assert "title: Clean; stage: set" in gone.before
    stages = (
        "    - key: fit\n      title: Dry fit\n      hold_point: yes\n",
        "    - key: set\n      title: Setting\n      hold_point: no\n",
    )
    (order,) = between((stages[0] + stages[1], stages[1] + stages[0]))
    assert (order.part, order.kind, order.before, order.after) == (
        "Stages",
        "moved",
        "fit, set",
        "set, fit",
    )


def leaves(value: Any, path: tuple[Any, ...] = ()) -> Iterator[tuple[Any, ...]]:
    """Yield the path of each single value of a written program."""
    items = value.items() if isinstance(value, dict) else enumerate(value)
    for name, part in items:
        if isinstance(part, (dict, list)):
            yield from leaves(part, (*path, name))
        else:
            yield (*path, name)


def without(document: dict[str, Any], path: tuple[Any, ...]) -> dict[str, Any]:
    """Return a program document whose text, key or number at ``path`` is another one."""
    changed_document = copy.deepcopy(document)
    part = changed_document
    for step in path[:-1]:
        part = part[step]
    old = part[path[-1]]
    part[path[-1]] = not old if isinstance(old, bool) else old + 1 if isinstance(old, int) else "9"
    return changed_document


@pytest.mark.parametrize("path", PROGRAMS, ids=lambda path: path.stem)
def test_no_line_of_a_shipped_program_can_change_unsaid(
    path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Every fourth value of the document is put in place of another; the change must be told.

    Such a document need not be one that loads, so limits are not worked out here.
    """
    module = "assessments.programfile.differences"
    monkeypatch.setattr(f"{module}._worked_out", lambda before, after: iter(()))
    document = read_program(path.read_bytes(), path.name).document
    written, looked_at = PROGRAM.write(document, None), 0
    for place in islice(leaves(document), None, None, 4):
        if place[0] in ASIDE or place[-1] == "kind":  # another kind has other fields
            continue
        other = without(document, place)
        try:
            same = PROGRAM.write(other, None) == written
        except (ValueError, KeyError, AssertionError, TypeError):
            continue  # no file can be written of it
        if not same:
            looked_at += 1
            assert changes_between(document, other), place
    assert looked_at > 60


def test_a_program_has_not_changed_against_itself() -> None:
    for path in PROGRAMS:
        document = read_program(path.read_bytes(), path.name).document
        assert changes_between(document, copy.deepcopy(document)) == []
        assert PROGRAM.write(document, None)
