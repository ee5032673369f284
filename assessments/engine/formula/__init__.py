"""Limits derived from the dimensions of the task by a small, safe formula."""

from assessments.engine.formula.evaluate import Amount, evaluate, limit
from assessments.engine.formula.parse import parse

__all__ = ["Amount", "evaluate", "limit", "parse"]
