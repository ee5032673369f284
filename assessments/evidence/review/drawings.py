"""The review of the criteria drawn: a dot with its interval for each criterion."""

from __future__ import annotations

from assessments.evidence.drawings import Dot, dots
from assessments.evidence.results import Drawing, Figure, NotComputed, Result
from assessments.evidence.review.criteria import CriterionReview


def drawings(reviews: tuple[CriterionReview, ...]) -> tuple[Drawing, ...]:
    """Who met each criterion, and how it goes along with the rest of the work."""
    return (
        *dots(
            "review-met",
            "Share of trainees who met each criterion",
            _words("Share who met it", reviews, [review.met for review in reviews]),
            [_dot(review, review.met) for review in reviews],
            axis="Share who met it",
        ),
        *dots(
            "review-rest",
            "Correlation of each criterion with the rest of the work",
            _words("Correlation", reviews, [review.item_rest for review in reviews]),
            [_dot(review, review.item_rest) for review in reviews],
            axis="Correlation with the rest",
            limits=(-1.0, 1.0),
            reference=0.0,
        ),
    )


def _dot(review: CriterionReview, result: Result) -> Dot:
    if isinstance(result, NotComputed):
        return Dot(review.item.title, None)
    return Dot(review.item.title, result.value, result.low, result.high)


def _words(what: str, reviews: tuple[CriterionReview, ...], results: list[Result]) -> str:
    parts = [
        f"{review.item.title} "
        + (f"{result.value:.2f}" if isinstance(result, Figure) else "not computed")
        for review, result in zip(reviews, results, strict=True)
    ]
    return f"{what}: {'; '.join(parts)}."
