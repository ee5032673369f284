"""The balanced part of a cohort's scores: what a crossed analysis can use, and what it cannot."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

from assessments.evidence.results import NotComputed, Table
from assessments.evidence.scores import Array, Item, Scores

Flags = NDArray[np.bool_]

# Up to this many assessors every choice of them is tried; beyond, pairs alone.
EVERY_CHOICE = 8


@dataclass(frozen=True, slots=True)
class Block:
    """Scores without gaps: ``values`` trainees x criteria (x assessors), in shares.

    ``left_out`` says of each trainee, criterion or assessor that is not in it why not.
    """

    values: Array
    trainees: tuple[str, ...]
    items: tuple[Item, ...]
    assessors: tuple[str, ...]
    left_out: tuple[tuple[str, str], ...]

    @property
    def weights(self) -> Array:
        """The weights of the criteria in the block, adding up to 1."""
        weights = np.array([item.weight for item in self.items], dtype=np.float64)
        if weights.sum() <= 0:
            weights = np.ones(len(self.items), dtype=np.float64)
        found: Array = np.divide(weights, weights.sum())
        return found

    def met(self) -> Array:
        """Trainees x criteria: 1 where the score is that of a criterion met (two axes only)."""
        needed = np.array([item.met_share for item in self.items])
        found: Array = (self.values >= needed - 1e-12).astype(np.float64)
        return found

    def table(self, key: str, title: str) -> Table:
        """What was left out, and why."""
        return Table(key, title, ("Left out", "Why"), self.left_out)


def complete(scores: Scores) -> Block | NotComputed:
    """Trainees x criteria with the mean over the assessors, without gaps.

    Criteria with a score of fewer than half of the trainees are left out first, then trainees
    with a gap. At least two trainees and two criteria must remain.
    """
    values = scores.combined()
    known = ~np.isnan(values)
    if not known.any():
        return NotComputed("complete", "Complete scores", "Nothing has been scored yet.")
    kept, left_out = _often_scored(known, scores)
    whole: Flags = np.asarray(known[:, kept].all(axis=1))
    left_out += _gaps(scores, whole, known, kept, "not scored")
    items = tuple(scores.items[column] for column in kept)
    if whole.sum() < 2 or len(items) < 2:
        return _too_little(int(whole.sum()), len(items), "scores")
    trainees = tuple(name for name, keep in zip(scores.trainees, whole, strict=True) if keep)
    return Block(values[whole][:, kept], trainees, items, (), tuple(left_out))


def crossed(scores: Scores) -> Block | NotComputed:
    """Trainees x criteria x assessors, without gaps: trainees whom the same assessors scored.

    Of all choices of two or more assessors, the one that leaves the most degrees of freedom for
    their differences, (trainees - 1) (assessors - 1). Then as ``complete``.
    """
    title = "Scores of the same trainees by two or more assessors"
    known = ~np.isnan(scores.values)
    seen: Flags = np.asarray(known.any(axis=1))
    if seen.any(axis=0).sum() < 2:
        return NotComputed(
            "crossed",
            title,
            "Only one assessor scored. Have two assessors score the same trainees, each on their"
            " own: that is the evidence to rest on.",
        )
    best = _choice(seen)
    both: Flags = np.asarray(seen[:, best].all(axis=1))
    if both.sum() < 2:
        return NotComputed(
            "crossed",
            title,
            "No two assessors scored the same two trainees or more. Have the same two assessors"
            " score several trainees, each on their own.",
        )
    left_out = [
        (name, "Assessor: did not score the same trainees.")
        for column, name in enumerate(scores.assessors)
        if column not in best and seen[:, column].any()
    ]
    by_all: Flags = np.asarray(known[:, :, best].all(axis=2))
    kept, seldom = _often_scored(by_all[both], scores)
    whole: Flags = np.asarray(by_all[:, kept].all(axis=1))
    left_out += seldom
    left_out += _gaps(scores, whole, by_all, kept, "not scored by each of the assessors")
    items = tuple(scores.items[column] for column in kept)
    if whole.sum() < 2 or len(items) < 2:
        return _too_little(int(whole.sum()), len(items), "scores by the same assessors")
    return Block(
        scores.values[whole][:, kept][:, :, best],
        tuple(name for name, keep in zip(scores.trainees, whole, strict=True) if keep),
        items,
        tuple(scores.assessors[column] for column in best),
        tuple(left_out),
    )


def _choice(seen: Flags) -> list[int]:
    count = seen.shape[1]
    sizes = range(2, count + 1) if count <= EVERY_CHOICE else (2,)
    choices = [list(choice) for size in sizes for choice in combinations(range(count), size)]
    return max(
        choices,
        key=lambda choice: (int(seen[:, choice].all(axis=1).sum()) - 1) * (len(choice) - 1),
    )


def _often_scored(known: Flags, scores: Scores) -> tuple[list[int], list[tuple[str, str]]]:
    often = known.sum(axis=0) * 2 >= max(int(known.any(axis=1).sum()), 1)
    left_out = [
        (item.title, "Criterion: scored of fewer than half of the trainees.")
        for item, keep in zip(scores.items, often, strict=True)
        if not keep
    ]
    return np.flatnonzero(often).tolist(), left_out


def _gaps(
    scores: Scores,
    whole: Flags,
    known: Flags,
    kept: list[int],
    words: str,
) -> list[tuple[str, str]]:
    found = []
    for row in np.flatnonzero(~whole).tolist():
        gaps = [column for column in kept if not known[row, column]]
        if len(gaps) == len(kept):
            found.append((scores.trainees[row], f"Trainee: {words}."))
            continue
        reasons = [words if scores.applies[row, column] else "does not apply" for column in gaps]
        names = ", ".join(
            f"{scores.items[column].title} ({reason})"
            for column, reason in zip(gaps, reasons, strict=True)
        )
        found.append((scores.trainees[row], f"Trainee: {names}."))
    return found


def _too_little(trainees: int, items: int, what: str) -> NotComputed:
    people = f"{trainees} trainee{'s' if trainees != 1 else ''}"
    criteria = f"{items} {'criteria' if items != 1 else 'criterion'}"
    return NotComputed(
        "complete",
        "Complete scores",
        f"There are complete {what} of {people} on {criteria}; two trainees and two criteria are"
        " the least. Score what is missing, or wait for more trainees.",
    )
