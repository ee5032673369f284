"""The review of the criteria in tables: one row for each criterion."""

from __future__ import annotations

from assessments.evidence.results import Cell, Figure, NotComputed, Result, Table
from assessments.evidence.review.criteria import CriterionReview


def tables(reviews: tuple[CriterionReview, ...]) -> tuple[Table, ...]:
    """Advice, difficulty, discrimination and how it worked on the day, in that order."""
    return (
        Table(
            "advice",
            "What to do",
            ("Criterion", "Critical", "Advice"),
            tuple(
                (
                    review.item.title,
                    "yes" if review.item.critical else "no",
                    " ".join(review.advice) or "Nothing stands out.",
                )
                for review in reviews
            ),
            first=True,
        ),
        Table(
            "difficulty",
            "How hard each criterion was",
            (
                "Criterion",
                "Trainees scored",
                "Share who met it",
                "Met: from",
                "Met: to",
                "Mean share",
                "Mean: from",
                "Mean: to",
            ),
            tuple(
                (review.item.title, _n(review.met), *_cells(review.met), *_cells(review.mean))
                for review in reviews
            ),
        ),
        Table(
            "discrimination",
            "How each criterion goes along with the rest of the work",
            (
                "Criterion",
                "Correlation with the rest",
                "Correlation: from",
                "Correlation: to",
                "Upper less lower group",
                "Met the standard less did not yet",
                "Not computed",
            ),
            tuple(
                (
                    review.item.title,
                    *_cells(review.item_rest),
                    _cells(review.upper_lower)[0],
                    _cells(review.by_result)[0],
                    _why(review.item_rest, review.upper_lower, review.by_result),
                )
                for review in reviews
            ),
        ),
        Table(
            "practice",
            "How each criterion worked on the day",
            (
                "Criterion",
                "Share left without a score",
                "Minutes (median)",
                "Minutes: from",
                "Minutes: to",
                "Times known",
                "Share of 'not yet met' decided alone",
            ),
            tuple(
                (
                    review.item.title,
                    _cells(review.missing)[0],
                    *_cells(review.minutes),
                    _n(review.minutes),
                    _cells(review.alone)[0],
                )
                for review in reviews
            ),
        ),
    )


def _cells(result: Result) -> tuple[Cell, Cell, Cell]:
    if isinstance(result, NotComputed):
        return None, None, None
    return result.value, result.low, result.high


def _n(result: Result) -> int:
    return (result.n or 0) if isinstance(result, Figure) else 0


def _why(*results: Result) -> str:
    reasons = [result.reason for result in results if isinstance(result, NotComputed)]
    return " ".join(dict.fromkeys(reasons))
