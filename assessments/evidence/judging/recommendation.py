"""A recommended cut, with what it rests on; and when each method is of use."""

from __future__ import annotations

from dataclasses import dataclass

from assessments.evidence.errors import EvidenceError
from assessments.evidence.results import Result, Section

# Said of the band that every method suggests.
SUGGESTION = "A suggestion: a score this close to the cut, on either side, is looked at again."
_WHEN = {
    "angoff": (
        "Use it before anybody has been assessed: each judge says, for each criterion, what share "
        "of masons who just meet the standard would meet it. It needs judges who know such "
        "masons, and at least two of them."
    ),
    "ebel": (
        "Use it before anybody has been assessed, where judges find it easier to say how relevant "
        "and how difficult each criterion is than to estimate criterion by criterion. They "
        "estimate one share for each combination."
    ),
    "borderline": (
        "Use it once a cohort has done the work: judges rate each whole piece from 1 to 5, and "
        "the line through ratings and scores is read at the borderline rating. It needs ratings "
        "on both sides of the borderline, and the standard never applies to that cohort."
    ),
    "contrasting": (
        "Use it once a cohort has done the work and judges can say of each attempt, from the work "
        "and without the score, whether it is competent. The cut is where both are equally "
        "likely. It needs both groups, and the standard never applies to that cohort."
    ),
    "hofstee": (
        "Use it as a sense check beside another method: judges say the lowest and the highest "
        "tolerable cut and share of trainees not meeting it. It compromises with what is "
        "tolerable, so it is never the recommendation."
    ),
}


@dataclass(frozen=True, slots=True)
class Recommendation:
    """What judgements come to: the cut, or why there is none, and the section that tells it.

    ``method`` is angoff, ebel, borderline, contrasting or hofstee. ``cut`` is a share from 0 to 1
    of the overall score (Hofstee: in the unit of the scores given).
    """

    method: str
    cut: Result
    section: Section


def when_to_use(method: str) -> str:
    """When a method is of use, and what it needs, in plain sentences.

    An unknown method raises EvidenceError. Common practice; the methods' sources are named with
    their functions.

    >>> when_to_use("hofstee").split(":")[0]
    'Use it as a sense check beside another method'
    """
    if method not in _WHEN:
        raise EvidenceError("method", f"Write one of {', '.join(_WHEN)}.")
    return _WHEN[method]
