"""How long the whole evidence takes: ``python -m tests.bench.bench_evidence``.

A made-up cohort of trainees x 14 criteria x 2 assessors, 1,000 bootstrap samples, on one core.
The bare baseline of the same run is what one would call from the libraries by hand, and no more:
for each criterion one Cohen's kappa by statsmodels and five times 1,000 bootstrap means by numpy,
which makes 70, about as many as the document has intervals from resampling (72 for two assessors
and a cut). It draws nothing and says nothing; ``drawings`` is the part of the whole that matplotlib
takes. Processor time is measured, and the best of several rounds shown, so that other work on the
machine disturbs least.
"""

from __future__ import annotations

import time
from collections.abc import Callable

import numpy as np
from statsmodels.stats.inter_rater import cohens_kappa, to_table

from assessments.evidence.agreement import agreement_section
from assessments.evidence.dependability import dependability_section
from assessments.evidence.drawings import Dot, Series, dots, lines
from assessments.evidence.report import evidence_document
from assessments.evidence.review import review_section
from assessments.evidence.scores import Scores
from tests.evidence.review.builders import cohort

CRITERIA, ASSESSORS, SAMPLES, ROUNDS = 14, 2, 1000, 3
MEANS = 5


def bare(scores: Scores) -> list[tuple[float, ...]]:
    """A kappa and standard errors of means for each criterion, by the libraries alone."""
    draw = np.random.default_rng(1)
    found = []
    for number in range(len(scores.items)):
        pairs = scores.values[:, number, :]
        pairs = pairs[~np.isnan(pairs).any(axis=1)]
        table, _ = to_table(np.rint(pairs * 3).astype(int), bins=4)
        means = pairs.mean(axis=1)
        kappa = float(cohens_kappa(table, return_results=False))
        errors = []
        for _ in range(MEANS):
            drawn = draw.integers(0, len(means), (SAMPLES, len(means)))
            errors.append(float(means[drawn].mean(axis=1).std()))
        found.append((kappa, *errors))
    return found


def drawings(scores: Scores) -> None:
    """As many drawings, of as many rows, as the document of 14 criteria has."""
    rows = [Dot(item.title, 0.5, 0.4, 0.6) for item in scores.items]
    for key in ("agreement", "met", "rest"):
        dots(key, "Title", "Words.", rows, axis="Share")
    ends = [float(place) for place in range(50)]
    lines("curve", "Title", "Words.", [Series("One", ends, ends)], x_label="x", y_label="y")


def best(run: Callable[[Scores], object], scores: Scores) -> float:
    """The seconds of the quickest round."""
    times = []
    for _ in range(ROUNDS):
        start = time.process_time()
        run(scores)
        times.append(time.process_time() - start)
    return min(times)


def main() -> None:
    """Print the table."""
    runs: tuple[Callable[[Scores], object], ...] = (
        lambda scores: agreement_section(scores, samples=SAMPLES),
        lambda scores: dependability_section(scores, samples=SAMPLES),
        review_section,
        drawings,
        lambda scores: evidence_document(scores, samples=SAMPLES),
        bare,
    )
    titles = ("agreement", "dependable", "review", "(drawings)", "all of it", "bare")
    print(f"{'trainees':>8} " + " ".join(f"{title + ' s':>12}" for title in titles), end=" ")
    print(f"{'ratio':>7} {'growth':>7}")
    first = 0.0
    for trainees in (40, 400, 4000):
        scores = cohort(trainees, CRITERIA, ASSESSORS)
        # The first call of all reads the fonts and fills caches of the libraries.
        evidence_document(scores, samples=100)
        times = [best(run, scores) for run in runs]
        first = first or times[4]
        print(f"{trainees:>8} " + " ".join(f"{seconds:>12.3f}" for seconds in times), end=" ")
        print(f"{times[4] / times[5]:>7.1f} {times[4] / first:>7.1f}")


if __name__ == "__main__":
    main()
