"""From attempts to arrays: what each assessor scored, what applies, what decided alone.

The expected numbers are worked out by hand from the standard of tests.assessments.builders: five
criteria of weight 1, C3 critical, cut 0.7, the outcome's least share 0.5, the mean of assessors.
"""

import json
import uuid
from typing import Any

import numpy as np
import pytest
from pytest_django import DjangoAssertNumQueries

from assessments.evidence.scores import Scores
from assessments.models import Attempt
from assessments.queries.evidence import cohort_of, scores_of
from assessments.queries.evidence.cohort import letters
from tests.assessments.builders import Yard, make_yard, score_all
from tests.assessments.evidence.cohorts import (
    BAD_GAP,
    NONE_THERE,
    another,
    at,
    cohort_yard,
    decide,
    put,
    second_instructor,
)
from tests.factories import enrol, make_person, make_run

pytestmark = pytest.mark.django_db
NAN = float("nan")


def row_of(attempt: Attempt) -> int:
    """Return the row of a decided attempt: they stand in the order of their ids."""
    decided = Attempt.objects.filter(standard=attempt.standard, state="decided")
    return sorted(decided.values_list("pk", flat=True)).index(attempt.pk)


def decided(yard: Yard, **changes: Any) -> tuple[Scores, int]:
    """Return the scores with an attempt in which C1 to C5 were as ``changes`` say; its row."""
    attempt = another(yard)
    score_all(attempt, yard.instructor, **changes)
    decide(yard, attempt)
    return scores_of(yard.standard), row_of(attempt)


def test_two_assessors_a_correction_and_one_taken_back() -> None:
    yard = make_yard()
    second = second_instructor(yard)
    attempt = another(yard)
    score_all(attempt, yard.instructor, C1=None, C5=None)
    first = put(attempt, yard.instructor, "C1", {"level": 2})
    put(attempt, yard.instructor, "C1", {"level": 1}, replaces=str(first.pk))
    timed = put(attempt, yard.instructor, "C5", {"start": at(0), "end": at(20)}, device_time=at(21))
    put(attempt, yard.instructor, "C5", {"cleared": True}, replaces=str(timed.pk))
    score_all(attempt, second, C1={"level": 0}, C2=BAD_GAP, C4=NONE_THERE)
    decide(yard, attempt)
    scores = scores_of(yard.standard)
    assert scores.assessors == ("A", "B")
    np.testing.assert_array_equal(scores.values[0], [[0.5, 0], [1, 0], [1, 1], [1, NAN], [NAN, 1]])
    # One assessor found C4, so it applies: the other's word is a gap.
    assert scores.applies.all()
    # (0.25 + 0.5 + 1 + 1 + 1) / 5 = 0.75, the cut is 0.7.
    assert scores.results == ("met",)
    assert not scores.alone.any()


def test_what_does_not_apply_is_no_gap() -> None:
    scores, row = decided(make_yard(), C4=NONE_THERE)
    assert scores.applies[row].tolist() == [True, True, True, False, True]
    assert np.isnan(scores.values[row, 3]).all()


def test_what_is_missing_is_a_gap() -> None:
    scores, row = decided(make_yard(), C5=None)
    assert scores.results == ("incomplete",)
    assert scores.applies[row].all()
    assert np.isnan(scores.values[row, 4]).all()
    assert not scores.alone.any()


@pytest.mark.parametrize(
    ("changes", "alone"),
    [
        # 4/5 is above the cut: only the critical criterion stands in the way.
        ({"C3": {"answer": False}}, ["C3"]),
        # 3/5 is below it; with either of the two it would be 4/5.
        ({"C1": {"level": 0}, "C2": BAD_GAP}, ["C1", "C2"]),
        # 2/5 and a critical one not met: no single one would have been enough.
        ({"C1": {"level": 0}, "C2": BAD_GAP, "C3": {"answer": False}}, []),
        # (0.5 + 0 + 1 + 1 + 0) / 5 = 0.5: C1 would give 0.6, C2 and C5 each 0.7, on the cut.
        (
            {"C1": {"level": 1}, "C2": BAD_GAP, "C5": {"start": at(0), "end": at(59)}},
            ["C2", "C5"],
        ),
        # Met: nothing decided against it.
        ({"C1": {"level": 0}}, []),
    ],
)
def test_what_decided_alone(changes: dict[str, Any], alone: list[str]) -> None:
    scores, row = decided(make_yard(), **changes)
    marked = [item.key for item, mark in zip(scores.items, scores.alone[row], strict=True) if mark]
    assert marked == alone


def test_the_criteria_are_those_of_the_standard() -> None:
    scores = scores_of(make_yard().standard)
    assert scores.values.shape == (0, 5, 0)
    assert [item.kind for item in scores.items] == [
        "rated",
        "measured",
        "checked",
        "counted",
        "timed",
    ]
    rated, measured, checked, *_ = scores.items
    assert (rated.levels, rated.met_share) == ((0.0, 0.5, 1.0), 0.5)
    assert (measured.levels, measured.met_share) == ((0.0, 1.0), 1.0)
    assert (checked.critical, rated.critical) == (True, False)
    assert (rated.outcomes, rated.weight, scores.cut) == (("O1",), 1.0, 0.7)


def test_minutes_lie_between_two_scores_of_one_assessor_on_one_device() -> None:
    yard = make_yard()
    attempt = another(yard)
    by = yard.instructor
    put(attempt, by, "C1", {"level": 2}, device_time=at(0))
    fit = put(attempt, by, "fit", {"accepted": True}, kind="hold_point", device_time=at(4))
    put(attempt, by, "C2", BAD_GAP, device_time=at(6.5))
    put(attempt, by, "C3", {"answer": True}, device_time=at(10), device=str(uuid.uuid4()))
    count = put(attempt, by, "C4", {"count": 1}, device_time=at(126.5))
    put(attempt, by, "C4", {"count": 0}, device_time=at(130), replaces=str(count.pk))
    put(attempt, by, "C5", {"start": at(0), "end": at(20)}, device_time=at(251))
    decide(yard, attempt)
    assert fit.subject_key == "fit"
    # C3 is the first on another device; 120 minutes still count, 121 do not.
    np.testing.assert_array_equal(scores_of(yard.standard).minutes[0], [NAN, 2.5, NAN, 120, NAN])


def test_minutes_of_two_assessors_are_their_mean() -> None:
    yard = make_yard()
    attempt = another(yard)
    for assessor, step in ((yard.instructor, 2), (second_instructor(yard), 3)):
        score_all(attempt, assessor, C1=None, C2=None)
        put(attempt, assessor, "C1", {"level": 2}, device_time=at(20))
        put(attempt, assessor, "C2", BAD_GAP, device_time=at(20 + step))
    decide(yard, attempt)
    assert scores_of(yard.standard).minutes[0, 1] == 2.5


def test_open_and_void_attempts_are_left_out() -> None:
    yard = make_yard()
    score_all(another(yard), yard.instructor)
    void = another(yard)
    score_all(void, yard.instructor)
    Attempt.objects.filter(pk=void.pk).update(state="void")
    assert scores_of(yard.standard).trainees == ()
    decided(yard)
    assert scores_of(yard.standard).trainees == ("T1",)
    Attempt.objects.filter(state="decided").update(state="void")
    assert scores_of(yard.standard).trainees == ()


def test_later_attempts_say_whose_they_are() -> None:
    yard = make_yard()
    for _ in range(2):
        attempt = yard.attempt()
        score_all(attempt, yard.instructor, C3={"answer": False})
        decide(yard, attempt)
    elsewhere = make_run(yard.program, instructors=(yard.instructor,))
    attempt = Attempt.objects.create(
        enrolment=enrol(elsewhere, yard.trainee),
        standard=yard.standard,
        number=1,
        started_by=yard.instructor,
    )
    score_all(attempt, yard.instructor)
    decide(yard, attempt)
    decided(yard)
    cohort = cohort_of(yard.standard)
    assert (cohort.people, cohort.runs) == (2, 2)
    labels = cohort.scores.trainees
    assert len(set(labels)) == 4
    assert sum(label.endswith(", attempt 2") for label in labels) == 1
    assert sum(label.endswith(", run 2") for label in labels) == 1
    assert {label.split(",")[0] for label in labels} == {"T1", "T2"}


def test_the_digest_is_that_of_the_scores() -> None:
    yard = cohort_yard(3)
    before = cohort_of(yard.standard)
    assert before.digest == cohort_of(yard.standard).digest
    assert before.document["attempts"][0]["criteria"][0]["scores"][0]["score"] in ("0", "0.5", "1")
    decided(yard)
    assert cohort_of(yard.standard).digest != before.digest


def test_there_is_no_name_in_it() -> None:
    yard = cohort_yard(3)
    cohort = cohort_of(yard.standard)
    text = json.dumps(cohort.document) + repr(cohort.scores)
    people = {enrolment.person for enrolment in yard.run.enrolments.select_related("person")}
    for person in people | {yard.lead, *yard.run.instructors.all()}:
        assert person.full_name not in text
        assert person.email not in text
    assert "Mason" not in text


def test_the_number_of_queries_does_not_grow(
    django_assert_num_queries: DjangoAssertNumQueries,
) -> None:
    for size in (1, 3):
        yard = cohort_yard(size)
        with django_assert_num_queries(3):
            cohort = cohort_of(yard.standard)
        assert len(cohort.scores.trainees) == size


def test_assessors_beyond_the_alphabet() -> None:
    found = [letters(number) for number in range(800)]
    assert found[:3] == ["A", "B", "C"]
    assert found[25:28] == ["Z", "AA", "AB"]
    assert len(set(found)) == 800


def test_others_of_the_same_trainee_do_not_count_here() -> None:
    yard, other = make_yard(), make_yard()
    decided(other)
    enrol(other.run, make_person())
    assert scores_of(yard.standard).trainees == ()
