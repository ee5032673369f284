"""What the database refuses on its own, whatever the code above it does."""

import uuid
from collections.abc import Callable
from datetime import timedelta
from typing import Any

import pytest
from django.db import IntegrityError, connection, transaction
from django.utils import timezone

from assessments.actions.constraints import violated
from assessments.models import Attempt, Decision, Observation, SealedStandard
from tests.assessments.builders import Yard, make_standard, make_yard
from tests.factories import make_program

pytestmark = pytest.mark.django_db


def refused(work: Callable[[], object]) -> str:
    """Run ``work``, which the database must refuse; return the constraint it names."""
    with pytest.raises(IntegrityError) as caught, transaction.atomic():
        work()
    return violated(caught.value)


def run_sql(statement: str, *values: Any) -> None:
    with connection.cursor() as cursor:
        cursor.execute(statement, values)


def insert_attempt(yard: Yard, *, standard: SealedStandard, started_at: object) -> None:
    run_sql(
        "INSERT INTO assessments_attempt "
        "(id, enrolment_id, standard_id, number, state, started_at, started_by_id) "
        "VALUES (%s, %s, %s, 1, 'open', %s, %s)",
        uuid.uuid4(),
        yard.enrolment.pk,
        standard.pk,
        started_at,
        yard.instructor.pk,
    )


def observe(attempt: Attempt, yard: Yard, **changes: object) -> Observation:
    values: dict[str, object] = {
        "id": uuid.uuid4(),
        "attempt": attempt,
        "subject_kind": "criterion",
        "subject_key": "C1",
        "assessor": yard.instructor,
        "device": uuid.uuid4(),
        "epoch": uuid.uuid4(),
        "seq": 1,
        "value": {"level": 2},
        "device_time": timezone.now(),
        "device_zone": "America/New_York",
        "standard_digest": attempt.standard.digest,
        "content_digest": "0" * 64,
    }
    return Observation.objects.create(**{**values, **changes})


def decide(attempt: Attempt, yard: Yard, **changes: object) -> Decision:
    values: dict[str, object] = {
        "attempt": attempt,
        "standard_digest": attempt.standard.digest,
        "result": "met",
        "document": {},
        "observations": {},
        "engine_version": "1.0",
        "decided_by": yard.instructor,
    }
    return Decision.objects.create(**{**values, **changes})


def test_no_attempt_before_the_seal() -> None:
    yard = make_yard()
    early = yard.standard.sealed_at - timedelta(seconds=1)
    name = refused(lambda: insert_attempt(yard, standard=yard.standard, started_at=early))
    assert name == "attempt_after_seal"
    same = yard.standard.sealed_at
    name = refused(lambda: insert_attempt(yard, standard=yard.standard, started_at=same))
    assert name == "attempt_after_seal"
    insert_attempt(yard, standard=yard.standard, started_at=same + timedelta(microseconds=1))
    assert Attempt.objects.count() == 1


def test_no_attempt_under_the_standard_of_another_program() -> None:
    yard = make_yard()
    other = make_standard(make_program(yard.provider))
    name = refused(lambda: insert_attempt(yard, standard=other, started_at=timezone.now()))
    assert name == "attempt_program_of_run"


def test_an_attempt_keeps_its_standard_and_start() -> None:
    yard = make_yard()
    attempt = yard.attempt()
    later = make_standard(yard.program, dimensions={})
    rows = Attempt.objects.filter(pk=attempt.pk)
    assert refused(lambda: rows.update(standard=later)) == "attempt_fixed_after_start"
    assert refused(lambda: rows.update(started_at=timezone.now())) == "attempt_fixed_after_start"
    assert refused(lambda: rows.update(state="finished")) == "attempt_state_known"


def test_one_open_attempt_of_an_enrolment() -> None:
    yard = make_yard()
    first = yard.attempt()
    second = {"enrolment": yard.enrolment, "standard": yard.standard, "started_by": yard.lead}
    make = Attempt.objects.create
    assert refused(lambda: make(number=2, **second)) == "attempt_open_once"
    Attempt.objects.filter(pk=first.pk).update(state="decided")
    assert refused(lambda: make(number=1, **second)) == "attempt_number_once"
    assert make(number=2, **second).number == 2


def test_no_seal_dated_back() -> None:
    yard = make_yard()
    past = timezone.now() - timedelta(hours=1)
    name = refused(
        lambda: SealedStandard.objects.create(
            program=yard.program,
            serial=2,
            document={},
            digest="1" * 64,
            sealed_at=past,
            sealed_by=yard.lead,
        )
    )
    assert name == "standard_not_backdated"


def test_no_observation_on_a_decided_attempt() -> None:
    yard = make_yard()
    attempt = yard.attempt()
    observe(attempt, yard)
    Attempt.objects.filter(pk=attempt.pk).update(state="decided")
    name = refused(lambda: observe(attempt, yard, subject_key="C2"))
    assert name == "observation_attempt_open"


def test_no_observation_under_another_standard() -> None:
    yard = make_yard()
    attempt = yard.attempt()
    name = refused(lambda: observe(attempt, yard, standard_digest="a" * 64))
    assert name == "observation_standard_of_attempt"


def test_an_observation_is_stored_once_and_replaced_once() -> None:
    yard = make_yard()
    attempt = yard.attempt()
    epoch = uuid.uuid4()
    first = observe(attempt, yard, epoch=epoch)
    assert refused(lambda: observe(attempt, yard)) == "observation_first_once"
    name = refused(lambda: observe(attempt, yard, epoch=epoch, subject_key="C2"))
    assert name == "observation_seq_once"
    observe(attempt, yard, replaces=first)
    assert "replaces" in refused(lambda: observe(attempt, yard, replaces=first))


def test_a_correction_stays_with_its_assessor_and_subject() -> None:
    yard = make_yard()
    attempt = yard.attempt()
    first = observe(attempt, yard)
    name = "observation_replaces_same_subject"
    assert refused(lambda: observe(attempt, yard, subject_key="C2", replaces=first)) == name
    assert refused(lambda: observe(attempt, yard, assessor=yard.lead, replaces=first)) == name
    own = uuid.uuid4()
    self_replacing = refused(lambda: observe(attempt, yard, id=own, replaces_id=own))
    assert self_replacing in ("observation_replaces_another", name)


def test_one_current_decision_of_an_attempt() -> None:
    yard = make_yard()
    attempt = yard.attempt()
    first = decide(attempt, yard)
    assert refused(lambda: decide(attempt, yard)) == "decision_first_once"
    decide(attempt, yard, replaces=first)
    assert "replaces" in refused(lambda: decide(attempt, yard, replaces=first))


def test_a_decision_names_its_standard_and_a_known_result() -> None:
    yard = make_yard()
    attempt = yard.attempt()
    wrong = refused(lambda: decide(attempt, yard, standard_digest="b" * 64))
    assert wrong == "decision_standard_of_attempt"
    assert refused(lambda: decide(attempt, yard, result="undecided")) == "decision_result_known"
    bare = refused(lambda: decide(attempt, yard, result="incomplete"))
    assert bare == "decision_incomplete_has_note"


@pytest.mark.parametrize(
    "table", ["assessments_sealedstandard", "assessments_observation", "assessments_decision"]
)
def test_facts_are_append_only(table: str) -> None:
    yard = make_yard()
    attempt = yard.attempt()
    observe(attempt, yard)
    decide(attempt, yard)
    run_sql("SET CONSTRAINTS ALL IMMEDIATE")  # else the rows above stand in the way of TRUNCATE
    for statement in (f"UPDATE {table} SET id = id", f"DELETE FROM {table}"):
        with pytest.raises(IntegrityError, match=f"{table} is append-only"), transaction.atomic():
            run_sql(statement)
    with pytest.raises(IntegrityError, match="append-only"), transaction.atomic():
        run_sql(f"TRUNCATE {table} CASCADE")
