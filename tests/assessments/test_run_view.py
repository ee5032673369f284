"""The page of a run: how each trainee stands, and what can be done next."""

import re
from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from assessments.actions.decisions import sign_off
from assessments.models import Attempt, Decision
from tests.assessments.builders import Yard, make_yard, score_all
from tests.factories import enrol, make_organisation, make_person, make_program, make_role, make_run
from training.models import CourseRun, Enrolment, Person, Role

pytestmark = pytest.mark.django_db


def browser(person: Person) -> Client:
    client = Client()
    client.force_login(person)
    return client


def see(person: Person, run: CourseRun) -> Any:
    return browser(person).get(reverse("run", args=[run.pk]))


def text(response: Any) -> str:
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", response.content.decode()))


def joined(yard: Yard) -> Yard:
    """Return the yard with another trainee in the place of its own."""
    trainee = make_person()
    return Yard(**{**vars(yard), "trainee": trainee, "enrolment": enrol(yard.run, trainee)})


def decided(yard: Yard, **changes: Any) -> Decision:
    attempt = yard.attempt()
    score_all(attempt, yard.instructor, **changes)
    return sign_off(actor=yard.lead, attempt=attempt, password_checked=True, note="Closed.")


def test_it_counts_how_the_trainees_stand() -> None:
    yard = make_yard()
    decided(yard)
    decided(joined(yard), C3={"answer": False})
    decided(joined(yard), C5=None)
    joined(yard).attempt()
    joined(yard)
    Enrolment.objects.filter(pk=joined(yard).enrolment.pk).update(state="withdrawn")
    response = see(yard.instructor, yard.run)
    assert response.context["counts"] == {
        "enrolled": 5,
        "met": 1,
        "not_yet_met": 1,
        "incomplete": 1,
        "open": 1,
        "none": 1,
    }
    for word in ("Met", "Not yet met", "Incomplete", "Being assessed", "Not started", "Withdrawn"):
        assert word in text(response)


def test_the_next_step_is_offered() -> None:
    yard = make_yard()
    assert "Start the attempt" in text(see(yard.instructor, yard.run))
    attempt = yard.attempt()
    shown = see(yard.instructor, yard.run).content.decode()
    assert reverse("attempt_score", args=[attempt.pk]) in shown
    assert "Start the attempt" not in shown
    score_all(attempt, yard.instructor, C3={"answer": False})
    sign_off(actor=yard.instructor, attempt=attempt, password_checked=True)
    shown = see(yard.instructor, yard.run).content.decode()
    assert reverse("attempt_retake", args=[attempt.pk]) in shown
    decision = decided(yard)
    shown = see(yard.lead, yard.run).content.decode()
    assert "Start another attempt" not in shown
    assert f'action="{reverse("record_issue", args=[decision.pk])}"' in shown
    assert "Issue the record" in text(see(yard.instructor, yard.run))


def test_met_once_stays_met() -> None:
    yard = make_yard()
    decided(yard)
    # A later go, for whatever reason it was started, takes nothing away.
    later = yard.attempt()
    assert "Met" in text(see(yard.lead, yard.run))
    score_all(later, yard.instructor, C3={"answer": False})
    sign_off(actor=yard.instructor, attempt=later, password_checked=True)
    assert see(yard.lead, yard.run).context["counts"]["met"] == 1


def test_starting_leads_to_scoring() -> None:
    yard = make_yard()
    address = reverse("attempt_start", args=[yard.enrolment.pk])
    client = browser(yard.instructor)
    response = client.post(address)
    attempt = Attempt.objects.get()
    assert response["Location"] == reverse("attempt_score", args=[attempt.pk])
    response = client.post(address, follow=True)
    assert "open already" in text(response)
    assert Attempt.objects.count() == 1
    assert client.get(address).status_code == 405


def test_who_may_start() -> None:
    yard = make_yard()
    address = reverse("attempt_start", args=[yard.enrolment.pk])
    for person, status in [
        (yard.trainee, 403),
        (make_yard().instructor, 404),
        (make_person(), 404),
    ]:
        assert browser(person).post(address).status_code == status
    assert not Attempt.objects.exists()


def test_without_a_seal_it_says_so() -> None:
    provider = make_organisation()
    lead = make_role(Role.Kind.LEAD, provider)
    run = make_run(make_program(provider))
    enrolment = enrol(run, make_person())
    shown = text(see(lead, run))
    assert "No passing standard is sealed" in shown
    assert "Look at the draft and seal it" in shown
    assert "Start the attempt" not in shown
    response = browser(lead).post(reverse("attempt_start", args=[enrolment.pk]), follow=True)
    assert "a training lead seals one" in text(response)


def test_a_closed_run_starts_nothing() -> None:
    yard = make_yard()
    CourseRun.objects.update(state="closed")
    shown = text(see(yard.instructor, yard.run))
    assert "This run is closed" in shown
    assert "Start the attempt" not in shown


def test_nobody_enrolled() -> None:
    yard = make_yard()
    run = make_run(yard.program, instructors=(yard.instructor,))
    assert "Nobody is enrolled yet" in text(see(yard.instructor, run))
    assert reverse("run_enrol_file", args=[run.pk]) in see(yard.lead, run).content.decode()


def test_who_sees_it() -> None:
    yard = make_yard()
    for person, status in [
        (yard.lead, 200),
        (yard.instructor, 200),
        (yard.trainee, 404),
        (make_yard().lead, 404),
        (make_role(Role.Kind.INSTRUCTOR, yard.provider), 404),
    ]:
        assert see(person, yard.run).status_code == status


def test_it_costs_the_same_for_one_and_three() -> None:
    yard = make_yard()
    decided(yard)
    client = browser(yard.lead)

    def cost() -> int:
        with CaptureQueriesContext(connection) as queries:
            response = client.get(reverse("run", args=[yard.run.pk]))
        assert response.status_code == 200
        return len(queries)

    one = cost()
    decided(joined(yard), C3={"answer": False})
    again = joined(yard)
    decided(again, C3={"answer": False})
    again.attempt()
    assert cost() == one


def test_a_second_instructor_is_asked_to_score_beside_the_first() -> None:
    yard = make_yard()
    second, third = (make_role(Role.Kind.INSTRUCTOR, yard.provider) for _ in range(2))
    yard.run.instructors.add(second, third)
    attempt = yard.attempt()
    assert "Go on scoring" in text(see(second, yard.run))
    score_all(attempt, yard.instructor, C1={"level": 0})
    assert "Go on scoring" in text(see(yard.instructor, yard.run))
    assert "Score as second assessor" in text(see(second, yard.run))
    sheet = browser(second).get(reverse("attempt_score", args=[attempt.pk]))
    assert "You score beside another assessor" in text(sheet)
    assert "Not met" not in text(sheet), "the first one's scores are not shown"
    lines = [line for line in sheet.context["sheet"].lines if line.subject.kind == "criterion"]
    assert {line.word for line in lines} == {"unscored"}
    score_all(attempt, second)
    assert "Go on scoring" in text(see(second, yard.run))
    assert "Score as another assessor" in text(see(third, yard.run))
    own = browser(yard.instructor).get(reverse("attempt_score", args=[attempt.pk]))
    assert "You score beside another assessor" not in text(own), "all of the own is scored"
    sign_off(actor=yard.lead, attempt=attempt, password_checked=True)
    for words in ("Go on scoring", "second assessor", "another assessor"):
        assert words not in text(see(third, yard.run))
