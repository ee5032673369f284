"""Scores of cohorts, written short."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np

from assessments.evidence.scores import Item, Scores


def item(key: str, **facts: Any) -> Item:
    """A checked criterion of weight 1."""
    plain: dict[str, Any] = {
        "title": f"Criterion {key}",
        "kind": "checked",
        "critical": False,
        "weight": 1.0,
        "met_share": 1.0,
    }
    return Item(key=key, **(plain | facts))


def scores(shares: Any, **facts: Any) -> Scores:
    """Scores of one assessor from trainees x criteria, or of more from a third dimension."""
    values = np.asarray(shares, dtype=float)
    if values.ndim == 2:
        values = values[:, :, None]
    people, items, assessors = values.shape
    plain: dict[str, Any] = {
        "trainees": tuple(f"T{number}" for number in range(people)),
        "items": tuple(item(f"C{number}") for number in range(items)),
        "assessors": tuple(f"A{number}" for number in range(assessors)),
        "values": values,
        "applies": np.ones((people, items), dtype=bool),
        "results": ("met",) * people,
        "alone": np.zeros((people, items), dtype=bool),
        "minutes": np.full((people, items), np.nan),
        "cut": None,
    }
    return Scores(**(plain | facts))


def cohort(people: int = 40, criteria: int = 14, assessors: int = 2, seed: int = 4) -> Scores:
    """A made-up cohort: able and less able trainees, assessors who differ a little."""
    draw = np.random.default_rng(seed)
    able = draw.normal(0.0, 1.0, (people, 1, 1))
    hard = draw.normal(-0.7, 0.7, (1, criteria, 1))
    seen = able - hard + draw.normal(0, 0.6, (people, criteria, 1))
    values = np.clip(
        np.round(1.5 + seen + draw.normal(0, 0.4, (people, criteria, assessors))), 0, 3
    )
    values = values / 3
    values[draw.random(values.shape) < 0.03] = np.nan
    applies = draw.random((people, criteria)) > 0.02
    values[~applies] = np.nan
    items: Sequence[Item] = [
        item(
            f"C{number}",
            kind="rated",
            critical=number % 5 == 0,
            met_share=2 / 3,
            levels=(0.0, 1 / 3, 2 / 3, 1.0),
            outcomes=("O1",) if number % 2 else ("O2",),
        )
        for number in range(criteria)
    ]
    known = np.where(np.isnan(values), 0.5, values).mean(axis=(1, 2))
    results = tuple("met" if share >= 0.6 else "not_yet_met" for share in known)
    alone = (draw.random((people, criteria)) < 0.05) & (known < 0.6)[:, None]
    minutes = np.round(draw.gamma(4, 3, (people, criteria)), 1)
    return scores(
        values,
        items=tuple(items),
        applies=applies,
        results=results,
        alone=alone,
        minutes=minutes,
        cut=0.6,
    )
