"""Which of the fault tests run where."""

import os
from collections.abc import Callable
from typing import Any, TypeVar, cast

import pytest
from _pytest.mark.structures import ParameterSet

Test = TypeVar("Test", bound=Callable[..., Any])
FEW = 25
slow = pytest.mark.skipif("FAULT_SEEDS" not in os.environ, reason="only make faults runs this")


def only_at_length(test: Test) -> Test:
    """Mark a test that only make faults runs: it shows a further case of what others show."""
    return cast(Test, pytest.mark.faults(slow(test)))


def examples(number: int) -> int:
    """Return how many examples Hypothesis makes: ``number`` of them in make faults."""
    return number if "FAULT_SEEDS" in os.environ else min(number, FEW)


def at_length(*values: object) -> list[ParameterSet]:
    """Return cases that only make faults runs: more of what a test shows with others already."""
    return [pytest.param(value, marks=(slow, pytest.mark.faults)) for value in values]


def rows_at_length(*rows: tuple[object, ...]) -> list[ParameterSet]:
    """Return such cases of several parameters each."""
    return [pytest.param(*row, marks=(slow, pytest.mark.faults)) for row in rows]
