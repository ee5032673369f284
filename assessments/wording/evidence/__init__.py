"""The sentences of evidence in the reader's language: their patterns, and what stands in them.

What the sections of a report, of a panel and of an evaluation say is made in English: reports and
adoptions keep it, and spreadsheets are written from it. So it is known here by its patterns and
translated where it is shown (``training.said``). Titles, names and sources stay as they are.
"""

from assessments.wording.evidence import (
    agreement,
    dependability,
    evaluation,
    judging,
    panel,
    review,
    rounds,
)
from assessments.wording.evidence.values import FORMS, VALUES
from training.reaction_form import STATEMENTS

__all__ = ["FORMS", "SAID", "VALUES"]

SAID = (
    *agreement.SAID,
    *dependability.SAID,
    *judging.SAID,
    *panel.SAID,
    *rounds.SAID,
    *review.SAID,
    *evaluation.SAID,
    *(each.words for each in STATEMENTS),
)
