"""Which of the fault tests run where."""

import os

import pytest
from _pytest.mark.structures import ParameterSet

slow = pytest.mark.skipif("FAULT_SEEDS" not in os.environ, reason="only make faults runs this")


def at_length(*values: object) -> list[ParameterSet]:
    """Return cases that only make faults runs: more of what a test shows with others already."""
    return [pytest.param(value, marks=(slow, pytest.mark.faults)) for value in values]


def rows_at_length(*rows: tuple[object, ...]) -> list[ParameterSet]:
    """Return such cases of several parameters each."""
    return [pytest.param(*row, marks=(slow, pytest.mark.faults)) for row in rows]
