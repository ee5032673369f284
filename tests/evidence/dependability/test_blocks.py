"""Which trainees, criteria and assessors a balanced analysis takes."""

from __future__ import annotations

import numpy as np

from assessments.evidence.dependability import Block, complete, crossed
from assessments.evidence.results import NotComputed
from tests.evidence.dependability.cohorts import item, marks, scores_of


def block(found: Block | NotComputed) -> Block:
    assert isinstance(found, Block), found
    return found


def test_a_criterion_seldom_scored_goes_before_trainees_do() -> None:
    values = marks(9, 5)
    values[:6, 3] = np.nan
    found = block(complete(scores_of(values)))
    assert found.values.shape == (9, 4)
    assert found.left_out == (
        ("Criterion 3", "Criterion: scored of fewer than half of the trainees."),
    )


def test_values_are_those_of_who_and_what_is_left() -> None:
    values = marks(6, 5, 3)
    values[2, 4, 1] = np.nan
    values[:, :, 2] = np.nan
    found = block(crossed(scores_of(values)))
    assert found.assessors == ("Assessor A", "Assessor B")
    assert found.trainees == tuple(f"Trainee {n}" for n in (1, 2, 4, 5, 6))
    np.testing.assert_array_equal(found.values, values[[0, 1, 3, 4, 5]][:, :, :2])


def test_the_choice_with_most_to_tell_differences_by() -> None:
    values = marks(10, 5, 3)
    values[9, :, 2] = np.nan  # 10 trainees by two, or 9 by three: 9 degrees of freedom or 16
    assert len(block(crossed(scores_of(values))).assessors) == 3
    values[4:, :, 2] = np.nan  # 4 by three: 6
    found = block(crossed(scores_of(values)))
    assert found.assessors == ("Assessor A", "Assessor B")
    assert ("Assessor C", "Assessor: did not score the same trainees.") in found.left_out


def test_more_assessors_than_are_tried_in_every_choice() -> None:
    values = np.full((6, 4, 9), np.nan)
    values[:, :, 3] = marks(6, 4)[:, :, 0]
    values[:5, :, 7] = marks(5, 4, seed=2)[:, :, 0]
    values[0, :, 0] = 1.0
    found = block(crossed(scores_of(values)))
    assert found.assessors == ("Assessor D", "Assessor H")
    assert len(found.trainees) == 5


def test_weights_of_nothing_count_alike() -> None:
    items = tuple(item(number, weight=0.0) for number in range(4))
    found = block(complete(scores_of(marks(5, 4), items=items)))
    assert found.weights.tolist() == [0.25] * 4


def test_met_from_the_level_of_each_criterion() -> None:
    values = np.array([[[0.5], [0.5]], [[1.0], [0.0]]])
    items = (item(0, levels=(0.0, 0.5, 1.0)), item(1))
    found = block(complete(scores_of(values, items=items)))
    assert found.met().tolist() == [[1.0, 0.0], [1.0, 0.0]]


def test_one_criterion_is_too_little() -> None:
    found = complete(scores_of(marks(5, 1)))
    assert isinstance(found, NotComputed)
    assert "5 trainees on 1 criterion" in found.reason
