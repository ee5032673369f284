"""Invented cohorts for the tests of agreement."""

from __future__ import annotations

from typing import Any

import numpy as np

from assessments.evidence.scores import Item, Scores

NAN = float("nan")
THIRDS = (0.0, 1 / 3, 2 / 3, 1.0)


def rated(key: str = "r", title: str = "Head joints filled", weight: float = 1.0) -> Item:
    """A criterion of four levels, met from the third."""
    return Item(key, title, "rated", False, weight, 2 / 3, THIRDS)


def checked(key: str = "c", title: str = "Squeeze-out struck off") -> Item:
    """A criterion that is met or not."""
    return Item(key, title, "checked", False, 1.0, 1.0)


def cohort(items: tuple[Item, ...], values: Any, cut: float | None = 0.7, **about: Any) -> Scores:
    """The scores of trainees x criteria x assessors; all criteria apply unless told otherwise."""
    array = np.asarray(values, dtype=float)
    people, criteria, assessors = array.shape
    facts: dict[str, Any] = {
        "trainees": tuple(f"t{number}" for number in range(people)),
        "items": items,
        "assessors": tuple(f"a{number}" for number in range(assessors)),
        "values": array,
        "applies": np.ones((people, criteria), dtype=bool),
        "results": ("met",) * people,
        "alone": np.zeros((people, criteria), dtype=bool),
        "minutes": np.full((people, criteria), NAN),
        "cut": cut,
    }
    return Scores(**{**facts, **about})


def levels(*pairs: tuple[float, ...]) -> list[list[list[float]]]:
    """The values of one rated criterion, from the levels that the assessors gave each trainee."""
    return [[[level / 3 for level in pair]] for pair in pairs]


def drawn(seed: int, people: int = 20, assessors: int = 2, unlike: float = 0.3) -> Scores:
    """Three rated and two checked criteria, at random, assessors unlike in a part of scores."""
    draw = np.random.default_rng(seed)
    items = (*(rated(f"r{n}", f"Rated {n}") for n in range(3)), checked("c0"), checked("c1"))
    steps = np.array([4, 4, 4, 2, 2])
    shape = (people, len(items), assessors)
    own = draw.integers(0, steps[None, :, None], shape)
    same = draw.integers(0, steps[None, :], shape[:2])[:, :, None]
    values = np.where(draw.random(shape) < unlike, own, same) / (steps[None, :, None] - 1)
    return cohort(items, values)
