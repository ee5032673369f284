"""A small panel, and what tests look for in a section."""

from __future__ import annotations

from typing import Any

from assessments.evidence.judging import Recommendation, angoff
from assessments.evidence.results import Figure, NotComputed, Result, Section, Table

JUDGES = ("Ana", "Ben", "Cy")
ITEMS = ("Face flush", "Joint even")
ESTIMATES = [[0.6, 0.8], [0.7, 0.9], [0.8, 0.7]]


def panel(estimates: Any = None, weights: Any = (1, 1), **changes: Any) -> Recommendation:
    """Angoff's method on the small panel, or on what is given instead."""
    given: dict[str, Any] = {"judges": JUDGES, "items": ITEMS, "samples": 200} | changes
    return angoff(ESTIMATES if estimates is None else estimates, weights, **given)


def figure(result: Result) -> Figure:
    """The result, which must be a figure."""
    assert isinstance(result, Figure), result
    return result


def reason(result: Result) -> str:
    """Why there is no figure."""
    assert isinstance(result, NotComputed), result
    return result.reason


def named(section: Section, key: str) -> Result:
    """The result of that key."""
    return next(result for result in section.figures if result.key == key)


def table(section: Section, key: str) -> Table:
    """The table of that key."""
    return next(table for table in section.tables if table.key == key)
