"""What the strip on top of a scoring page and the bar below it show."""

from collections.abc import Callable, Sequence
from typing import Any

from assessments.engine.standard import Standard
from assessments.queries.in_order import Item, Scored


def stages_of(
    standard: Standard, lines: Sequence[Scored], line: Scored | None = None
) -> list[dict[str, Any]]:
    """Return every stage with its lines and how far they are; ``line`` is the one looked at."""
    return [
        {
            "key": stage.key,
            "title": stage.title,
            "lines": (own := [each for each in lines if each.subject.stage == index]),
            "done": sum(each.done for each in own),
            "total": len(own),
            "current": line is not None and line.subject.stage == index,
        }
        for index, stage in enumerate(standard.stages)
    ]


def beside(
    lines: Sequence[Item], line: Item | None, address: Callable[[Item], str]
) -> dict[str, Any]:
    """Return the place of ``line`` and the addresses of its neighbours; nothing without one."""
    if line is None:
        return {}
    place = lines.index(line)
    found: dict[str, Any] = {"number": place + 1, "count": len(lines)}
    if place:
        found["previous_url"] = address(lines[place - 1])
    if place + 1 < len(lines):
        found["next_url"] = address(lines[place + 1])
    return found
