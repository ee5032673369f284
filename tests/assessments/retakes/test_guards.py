"""What the database itself refuses of retakes, whatever the code above does."""

import uuid
from functools import partial
from typing import Any

import pytest
from django.db import DatabaseError, transaction
from django.utils import timezone

from assessments.models import Attempt, Observation, Retake, RetakeDay
from tests.assessments.builders import Yard, make_standard
from tests.assessments.retakes.builders import SEEN, failed_yard
from tests.assessments.test_guards import refused
from tests.factories import enrol, make_person

pytestmark = pytest.mark.django_db


def second_of(yard: Yard, **changes: Any) -> Attempt:
    values = {
        "enrolment": yard.enrolment,
        "standard": yard.standard,
        "number": 2,
        "started_by": yard.instructor,
    }
    return Attempt.objects.create(**{**values, **changes})


def retake(yard: Yard, attempt: Attempt, of: Attempt, **changes: Any) -> Retake:
    values: dict[str, Any] = {
        "attempt": attempt,
        "of": of,
        "decision": of.decisions.first(),
        "stages": ["set"],
        "carried": ["fit"],
        "stands": SEEN,
        "made_by": yard.instructor,
    }
    return Retake.objects.create(**{**values, **changes})


def copy(attempt: Attempt, row: Observation, **changes: Any) -> Observation:
    values: dict[str, Any] = {
        "id": uuid.uuid4(),
        "attempt": attempt,
        "subject_kind": row.subject_kind,
        "subject_key": row.subject_key,
        "assessor": row.assessor,
        "device": row.device,
        "epoch": uuid.uuid4(),
        "seq": 1,
        "value": row.value,
        "device_time": timezone.now(),
        "device_zone": "America/New_York",
        "standard_digest": attempt.standard.digest,
        "content_digest": "0" * 64,
        "carried_from": row,
    }
    return Observation.objects.create(**{**values, **changes})


def test_a_retake_follows_an_attempt_of_the_same_enrolment() -> None:
    yard, first = failed_yard()
    other = second_of(yard, enrolment=enrol(yard.run, make_person()), number=9)
    assert refused(lambda: retake(yard, other, first)) == "retake_of_same_enrolment"
    second = second_of(yard)
    assert (
        refused(lambda: retake(yard, first, second, decision=first.decisions.get()))
        == "retake_of_same_enrolment"
    )
    assert refused(lambda: retake(yard, first, first)) in (
        "retake_of_another",
        "retake_of_same_enrolment",
    )


def test_a_retake_names_a_decision_of_the_attempt_before() -> None:
    yard, first = failed_yard()
    _, theirs = failed_yard()
    second = second_of(yard)
    name = refused(lambda: retake(yard, second, first, decision=theirs.decisions.get()))
    assert name == "retake_decision_of_attempt"


def test_nothing_is_carried_over_from_another_standard_or_unseen() -> None:
    yard, first = failed_yard()
    newer = second_of(yard, standard=make_standard(yard.program, dimensions={}))
    assert refused(lambda: retake(yard, newer, first)) == "retake_carries_under_same_standard"
    assert retake(yard, newer, first, stages=[], carried=[], stands="").attempt == newer


def test_what_is_carried_was_looked_at_and_stands_beside_what_is_made_again() -> None:
    yard, first = failed_yard()
    second = second_of(yard)
    assert refused(lambda: retake(yard, second, first, stands="")) == "retake_carried_looked_at"
    each: list[dict[str, Any]] = [{"stages": []}, {"carried": []}]
    for parts in each:
        name = refused(partial(retake, yard, second, first, **parts))
        assert name == "retake_stages_with_carried"


def test_only_what_was_observed_of_a_stage_that_stands_is_carried() -> None:
    yard, first = failed_yard()
    second = second_of(yard)
    rows = {row.subject_key: row for row in first.observations.all()}
    assert refused(lambda: copy(second, rows["C1"])) == "observation_carried_by_retake"
    retake(yard, second, first)
    others: list[dict[str, Any]] = [
        {"value": {"level": 1}},
        {"assessor": yard.lead},
        {"subject_key": "C2"},
    ]
    for changes in others:
        name = refused(partial(copy, second, rows["C1"], **changes))
        assert name == "observation_carried_as_observed"
    assert refused(lambda: copy(second, rows["C3"])) == "observation_carried_as_observed"
    assert copy(second, rows["C1"]).carried_from == rows["C1"]
    assert copy(second, rows["fit"]).carried_from == rows["fit"]


def test_a_stage_that_stands_is_not_scored() -> None:
    yard, first = failed_yard()
    second = second_of(yard)
    retake(yard, second, first)
    rows = {row.subject_key: row for row in first.observations.all()}
    name = refused(lambda: copy(second, rows["C1"], carried_from=None, assessor=yard.lead))
    assert name == "observation_stage_stands"
    assert copy(second, rows["C3"], carried_from=None).subject_key == "C3"


def test_what_is_carried_replaces_nothing() -> None:
    yard, first = failed_yard()
    second = second_of(yard)
    retake(yard, second, first)
    row = first.observations.get(subject_key="C1")
    made = copy(second, row)
    with pytest.raises(DatabaseError), transaction.atomic():
        copy(second, row, replaces=made)


def test_a_day_has_a_place_and_is_given_up_with_a_reason() -> None:
    yard, first = failed_yard()
    base: dict[str, Any] = {
        "attempt": first,
        "day": timezone.localdate(),
        "place": "Yard 1",
        "made_by": yard.instructor,
    }
    make = RetakeDay.objects.create
    assert refused(lambda: make(**{**base, "place": ""})) == "retake_day_place_given"
    assert refused(lambda: make(**base, cancelled=True)) == "retake_day_cancelled_with_reason"
    assert make(**base, cancelled=True, reason="Frost").cancelled


def test_retakes_and_days_only_grow() -> None:
    yard, first = failed_yard()
    made = retake(yard, second_of(yard), first)
    day = RetakeDay.objects.create(
        attempt=first, day=timezone.localdate(), place="Yard", made_by=yard.lead
    )
    for change in (
        lambda: Retake.objects.filter(pk=made.pk).update(stands="Other"),
        lambda: Retake.objects.filter(pk=made.pk).delete(),
        lambda: RetakeDay.objects.filter(pk=day.pk).update(place="Other"),
        lambda: RetakeDay.objects.filter(pk=day.pk).delete(),
    ):
        with pytest.raises(DatabaseError, match="append-only"), transaction.atomic():
            change()
