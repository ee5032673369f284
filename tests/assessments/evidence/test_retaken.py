"""What a retake carried over counts once in a cohort, and a void attempt not at all.

Counted by hand on the standard of tests.assessments.builders: C1 and C2 belong to the stage that
stands, C3 to C5 to the stage made again.
"""

from fractions import Fraction

import numpy as np
import pytest

from assessments.actions.retakes import start_retake
from assessments.evidence.scores import Scores
from assessments.models import Attempt
from assessments.queries.attainment import attainment
from assessments.queries.evidence import cohort_of
from assessments.queries.progress import progress_of
from tests.assessments.builders import GOOD, Yard, score_all
from tests.assessments.evidence.cohorts import decide, put
from tests.assessments.retakes.builders import SEEN, failed_yard

pytestmark = pytest.mark.django_db
NAN = float("nan")


def retaken() -> tuple[Yard, Attempt, Attempt]:
    """Return a yard, an attempt that failed in C3 alone, and its retake, met."""
    yard, first = failed_yard()
    again = start_retake(actor=yard.instructor, attempt=first, whole=False, stands=SEEN)
    score_all(again, yard.instructor, C1=None, C2=None, fit=None)
    decide(yard, again)
    return yard, first, again


def rows_of(scores: Scores, *attempts: Attempt) -> list[int]:
    """Return the row of each attempt: they stand in the order of their ids."""
    order = sorted(attempt.pk for attempt in attempts)
    assert len(scores.trainees) == len(order)
    return [order.index(attempt.pk) for attempt in attempts]


def test_what_stands_counts_where_it_was_observed() -> None:
    yard, first, again = retaken()
    scores = cohort_of(yard.standard).scores
    one, two = rows_of(scores, first, again)
    np.testing.assert_array_equal(scores.values[one, :, 0], [1, 1, 0, 1, 1])
    np.testing.assert_array_equal(scores.values[two, :, 0], [NAN, NAN, 1, 1, 1])
    assert scores.applies[one].all()
    assert scores.applies[two].tolist() == [False, False, True, True, True]
    # 4/5 is above the cut of 0.7: C3, critical, decided alone, and once only.
    assert scores.alone.sum(axis=0).tolist() == [0, 0, 1, 0, 0]
    assert [scores.results[each] for each in (one, two)] == ["not_yet_met", "met"]


def test_nothing_carried_decides_alone() -> None:
    yard, first = failed_yard()
    again = start_retake(actor=yard.instructor, attempt=first, whole=False, stands=SEEN)
    score_all(again, yard.instructor, C1=None, C2=None, fit=None, C3={"answer": False})
    decide(yard, again)
    assert cohort_of(yard.standard).scores.alone.sum(axis=0).tolist() == [0, 0, 2, 0, 0]


def test_the_time_of_what_stands_is_taken_once() -> None:
    yard, first = failed_yard()
    again = start_retake(actor=yard.instructor, attempt=first, whole=False, stands=SEEN)
    # On the same device five minutes after what was carried: that was scored on another day.
    late = "2026-11-03T10:20:00-05:00"
    put(again, yard.instructor, "C3", GOOD["C3"], device_time=late)
    for key in ("C4", "C5"):
        put(again, yard.instructor, key, GOOD[key], device_time=late, seq=2)
    decide(yard, again)
    scores = cohort_of(yard.standard).scores
    _, two = rows_of(scores, first, again)
    assert np.isnan(scores.minutes[two, :3]).all()


def test_the_run_counts_the_retake_and_each_criterion_once() -> None:
    yard, _, _ = retaken()
    found = attainment([yard.run])
    assert (found.enrolled, found.met, found.not_yet_met) == (1, 1, 0)
    assert [(each.key, each.met, each.not_met, each.scored) for each in found.criteria] == [
        (key, 1, 0, 1) for key in ("C1", "C2", "C3", "C4", "C5")
    ]
    assert [each.mean for each in found.outcomes] == [Fraction(1)]


def test_a_void_retake_counts_nowhere() -> None:
    yard, first, again = retaken()
    Attempt.objects.filter(pk=again.pk).update(state=Attempt.State.VOID)
    scores = cohort_of(yard.standard).scores
    assert scores.results == ("not_yet_met",)
    np.testing.assert_array_equal(scores.values[0, :, 0], [1, 1, 0, 1, 1])
    found = attainment([yard.run])
    assert (found.met, found.not_yet_met) == (0, 1)
    assert [(each.key, each.met, each.not_met) for each in found.criteria][2] == ("C3", 0, 1)
    (row,) = progress_of(yard.enrolment).rows
    # (1 + 1 + 0 + 1 + 1) / 5 of the one outcome, from the attempt that counts.
    assert [(share.value, share.counted) for _, share in row.lines[0].points] == [
        (Fraction(4, 5), 5)
    ]
    assert [point.id for point in row.points] == [first.pk]
