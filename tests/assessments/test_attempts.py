"""Starting an attempt: who may, when, and under which standard."""

import pytest
from django.core.exceptions import PermissionDenied

from assessments.actions.attempts import start_attempt
from assessments.models import Attempt
from assessments.queries.scope import (
    attempts_assessable_by,
    attempts_visible_to,
    drafts_visible_to,
    standards_visible_to,
)
from tests.assessments.builders import at_once, make_standard, make_yard
from tests.factories import enrol, make_organisation, make_person, make_program, make_role, make_run
from training.errors import Refused
from training.models import CourseRun, Enrolment, LogEntry, Role


@pytest.mark.django_db
def test_start_counts_up_and_takes_the_standard_sealed_last() -> None:
    yard = make_yard()
    latest = make_standard(yard.program, dimensions={})
    attempt = start_attempt(actor=yard.instructor, enrolment=yard.enrolment)
    assert (attempt.number, attempt.state, attempt.standard) == (1, "open", latest)
    assert attempt.started_by == yard.instructor
    row = LogEntry.objects.get(verb="attempt.started")
    assert row.subject_id == str(attempt.pk)
    assert row.data["standard_digest"] == latest.digest
    Attempt.objects.filter(pk=attempt.pk).update(state="decided")
    again = start_attempt(actor=yard.lead, enrolment=yard.enrolment, standard=yard.standard)
    assert (again.number, again.standard) == (2, yard.standard)


@pytest.mark.django_db
def test_only_one_is_open() -> None:
    yard = make_yard()
    yard.attempt()
    with pytest.raises(Refused, match="open already"):
        yard.attempt()


@pytest.mark.django_db
def test_without_a_seal_it_says_who_seals() -> None:
    provider = make_organisation()
    lead = make_role(Role.Kind.LEAD, provider)
    run = make_run(make_program(provider))
    with pytest.raises(Refused, match="a training lead seals one"):
        start_attempt(actor=lead, enrolment=enrol(run, make_person()))


@pytest.mark.django_db
@pytest.mark.parametrize("state", [CourseRun.State.PLANNED, CourseRun.State.CLOSED])
def test_the_run_must_be_open(state: str) -> None:
    yard = make_yard()
    CourseRun.objects.update(state=state)
    with pytest.raises(Refused, match=f"run is {state}"):
        yard.attempt()


@pytest.mark.django_db
def test_a_withdrawn_trainee_starts_nothing() -> None:
    yard = make_yard()
    Enrolment.objects.update(state=Enrolment.State.WITHDRAWN)
    with pytest.raises(Refused, match="withdrawn"):
        yard.attempt()


@pytest.mark.django_db
def test_the_standard_of_another_program_is_refused_in_words() -> None:
    yard = make_yard()
    other = make_standard(make_program(yard.provider))
    with pytest.raises(Refused, match="another program"):
        start_attempt(actor=yard.lead, enrolment=yard.enrolment, standard=other)


@pytest.mark.django_db
def test_strangers_trainees_and_other_instructors_start_nothing() -> None:
    yard = make_yard()
    outsiders = [
        yard.trainee,
        make_role(Role.Kind.INSTRUCTOR, yard.provider),
        make_role(Role.Kind.LEAD, make_organisation()),
        make_role(Role.Kind.CONTRACTOR, make_organisation("contractor")),
    ]
    for person in outsiders:
        with pytest.raises(PermissionDenied):
            start_attempt(actor=person, enrolment=yard.enrolment)
    assert not Attempt.objects.exists()


@pytest.mark.django_db
def test_nobody_assesses_the_own_work() -> None:
    yard = make_yard()
    own = enrol(yard.run, yard.instructor)
    with pytest.raises(Refused, match="own work"):
        start_attempt(actor=yard.instructor, enrolment=own)
    start_attempt(actor=yard.lead, enrolment=own)
    assert not attempts_assessable_by(yard.instructor).exists()
    assert attempts_assessable_by(yard.lead).count() == 1


@pytest.mark.django_db
def test_who_sees_an_attempt_and_its_standard() -> None:
    yard = make_yard()
    yard.attempt()
    for person in (yard.lead, yard.instructor, yard.trainee):
        assert attempts_visible_to(person).count() == 1
        assert standards_visible_to(person).count() == 1
    assert not attempts_assessable_by(yard.trainee).exists()
    assert not drafts_visible_to(yard.trainee).exists()
    assert drafts_visible_to(yard.instructor).count() == 1
    contractor = make_organisation("contractor")
    for person in (
        make_person(),
        make_role(Role.Kind.INSTRUCTOR, yard.provider),
        make_role(Role.Kind.LEAD, make_organisation()),
        make_role(Role.Kind.CONTRACTOR, contractor),
    ):
        assert not attempts_visible_to(person).exists()
        assert not standards_visible_to(person).exists()


@pytest.mark.faults
@pytest.mark.django_db(transaction=True)
def test_two_starts_at_once_make_one_attempt() -> None:
    yard = make_yard()

    def start(number: int) -> str:
        try:
            return f"attempt {yard.attempt().number}"
        except Refused as refusal:
            return refusal.message

    assert sorted(at_once(start)) == [
        "An attempt of this trainee is open already: go on scoring that one.",
        "attempt 1",
    ]
    assert Attempt.objects.count() == 1
