"""Numbers and names in sentences."""

from __future__ import annotations

from collections.abc import Sequence

# More names than this make a sentence that nobody reads; the table has them all.
_NAMED = 4
_SMALL = ("no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten")


def percent(share: float) -> str:
    """A share as a percentage with one place.

    >>> percent(0.7367), percent(1.0)
    ('73.7 %', '100 %')
    """
    return f"{_points(share)} %"


def points(share: float) -> str:
    """A difference of shares in percentage points.

    >>> points(0.023)
    '2.3 percentage points'
    """
    return f"{_points(share)} percentage points"


def _points(share: float) -> str:
    text = f"{100 * share:.1f}".removesuffix(".0")
    return "0" if text == "-0" else text.replace("-", "−")


def count(number: int, one: str, many: str) -> str:
    """A number of things; up to ten in words.

    >>> count(1, "judge", "judges"), count(12, "judge", "judges")
    ('one judge', '12 judges')
    """
    said = _SMALL[number] if number < len(_SMALL) else str(number)
    return f"{said} {one if number == 1 else many}"


def listed(names: Sequence[str]) -> str:
    """Names as a list in a sentence; a long list is cut short and says so.

    >>> listed(["Joint", "Arris"]), listed(list("abcdefg"))
    ('Joint and Arris', 'a, b, c, d and 3 more')
    """
    shown = list(names[:_NAMED])
    if len(names) > _NAMED:
        shown.append(f"{len(names) - _NAMED} more")
    return shown[0] if len(shown) == 1 else f"{', '.join(shown[:-1])} and {shown[-1]}"


def letter(position: int) -> str:
    """The letter that stands for a judge: A to Z, then AA and on.

    >>> letter(0), letter(25), letter(26)
    ('A', 'Z', 'AA')
    """
    text = ""
    position += 1
    while position:
        position, rest = divmod(position - 1, 26)
        text = chr(ord("A") + rest) + text
    return text
