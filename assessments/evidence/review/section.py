"""The review of the criteria as a section: the words, the figures, the tables, the drawings."""

from __future__ import annotations

import numpy as np

from assessments.evidence.agreement.proportions import proportion
from assessments.evidence.results import Result, Section
from assessments.evidence.review.advice import RULES
from assessments.evidence.review.criteria import CriterionReview, review_criteria
from assessments.evidence.review.difficulty import NEAR, mean_share
from assessments.evidence.review.drawings import drawings
from assessments.evidence.review.tables import tables
from assessments.evidence.scores import Scores

TITLE = "What each criterion tells"
HOW_TO_READ = (
    "The passing standard is a fixed mark, so everyone may meet a criterion; then it cannot tell "
    "trainees apart, and that is no fault. Correlation and group differences (discrimination) "
    "near 0 are a question, not a verdict; clearly below 0 they ask for a look at the criterion."
)
SMALL = (
    "These are figures of one group of trainees. Look at them again with the next group before "
    "changing the standard, and change it only for trainees who have not begun."
)


def review_section(scores: Scores) -> Section:
    """Difficulty, discrimination, gaps, times and lone decisions of each criterion, with advice.

    Formulas and sources stand at the functions of this package. What cannot be computed is left
    empty in the tables, with the reason beside it.

    >>> from assessments.evidence.scores import Item
    >>> one = np.ones((2, 1))
    >>> scores = Scores(
    ...     ("a", "b"), (Item("C1", "Face flush", "checked", True, 1.0, 1.0),), ("x",),
    ...     one[:, :, None], one > 0, ("met", "met"), one < 0, one * 5, None)
    >>> review_section(scores).summary
    '1 of 1 criterion asks for a look: Face flush.'
    """
    reviews = review_criteria(scores)
    if not reviews or not scores.trainees:
        return Section("review", TITLE, "There are no criteria and trainees to review yet.")
    return Section(
        "review",
        TITLE,
        _summary(reviews),
        figures=_figures(scores),
        tables=tables(reviews),
        drawings=drawings(reviews),
        notes=(HOW_TO_READ, RULES, SMALL),
    )


def _summary(reviews: tuple[CriterionReview, ...]) -> str:
    asked = [review.item.title for review in reviews if review.advice]
    count = f"{len(reviews)} criteri{'on' if len(reviews) == 1 else 'a'}"
    if not asked:
        return f"Nothing stands out in {count}."
    named = "; ".join(asked[:3]) + (f" and {len(asked) - 3} more" if len(asked) > 3 else "")
    return f"{len(asked)} of {count} ask{'s' * (len(asked) == 1)} for a look: {named}."


def _figures(scores: Scores) -> tuple[Result, ...]:
    shares = np.where(scores.applies, scores.combined(), np.nan)
    needed = np.array([item.met_share for item in scores.items])
    known = ~np.isnan(shares)
    met = (known & (np.nan_to_num(shares) >= needed - NEAR)).sum(axis=1)
    count = known.sum(axis=1)
    per_trainee = np.where(count > 0, met / np.maximum(count, 1), np.nan)
    results = np.array(scores.results, dtype=object)
    counted = scores.applies & (results != "")[:, None]
    not_yet = results == "not_yet_met"
    return (
        mean_share(per_trainee, "criteria_met", "Criteria met by a trainee, on average"),
        proportion(
            "all_missing",
            "Scores left out where the criterion applied",
            int((counted & ~known).sum()),
            int(counted.sum()),
            none="No attempt has ended.",
        ),
        proportion(
            "any_alone",
            "Decisions 'not yet met' that one criterion made alone",
            int((scores.alone.any(axis=1) & not_yet).sum()),
            int(not_yet.sum()),
            none="Nobody has not yet met the standard.",
        ),
    )
