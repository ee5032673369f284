"""The pages of papers: who sees them, what they say, and the warnings that refuse nothing."""

from datetime import timedelta
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from tests.factories import enrol, make_person, make_role, make_run
from tests.training.fit.builders import ask_for, keep
from tests.training.fit.test_documents import Yard, browser
from training.models import Person, Role

pytestmark = pytest.mark.django_db


@pytest.fixture
def yard() -> Yard:
    return Yard()


def see(person: Person, name: str, *args: object) -> str:
    response = browser(person).get(reverse(name, args=args))
    assert response.status_code == 200
    return response.content.decode()


def status(person: Person, name: str, *args: object) -> int:
    return browser(person).get(reverse(name, args=args)).status_code


def test_who_sees_whose_papers(yard: Yard) -> None:
    paper = keep(yard.lead, yard.trainee, yard.provider, "mask")
    teacher = keep(yard.lead, yard.instructor, yard.provider, "instructor")
    whole = [
        ("person_papers", yard.trainee.pk),
        ("document_new", yard.trainee.pk),
        ("document_take_back", paper.pk),
        ("run_papers", yard.run.pk),
    ]
    for name, key in whole:
        found = [status(each, name, key) for each in (yard.lead, yard.instructor, yard.other)]
        assert found == [200, 200, 404], name
    assert status(yard.trainee, "person_papers", yard.trainee.pk) == 404
    assert status(yard.trainee, "document_new", yard.trainee.pk) == 403
    assert status(yard.trainee, "document_take_back", paper.pk) == 403
    assert status(yard.trainee, "run_papers", yard.run.pk) == 404
    assert status(yard.lead, "document_take_back", teacher.pk) == 200
    assert status(yard.instructor, "document_take_back", teacher.pk) == 403
    assert status(yard.other, "document_take_back", teacher.pk) == 404
    assert Client().get(reverse("my_papers")).status_code == 302


def test_an_instructor_sees_no_qualification_and_offers_none(yard: Yard) -> None:
    enrol(make_run(yard.run.program, instructors=(yard.other,)), yard.instructor)
    keep(yard.lead, yard.instructor, yard.provider, "instructor")
    keep(yard.lead, yard.instructor, yard.provider, "mask")
    shown = see(yard.other, "person_papers", yard.instructor.pk)
    assert "Respirator fit" in shown
    assert "Card of instructor" not in shown
    assert "Card of instructor" in see(yard.lead, "person_papers", yard.instructor.pk)
    assert 'value="instructor"' not in see(yard.other, "document_new", yard.instructor.pk)
    assert 'value="instructor"' in see(yard.lead, "document_new", yard.instructor.pk)


def test_the_run_says_each_state_in_a_word_and_what_lapses_before_the_end(yard: Yard) -> None:
    today = timezone.localdate()
    run = make_run(
        yard.run.program,
        instructors=(yard.instructor,),
        starts_on=today + timedelta(days=3),
        ends_on=today + timedelta(days=7),
    )
    names = ("Held", "Lapses before the end", "Lapsed", "Missing")
    for name, last in zip(names, (7, 5, 2, None), strict=True):
        person = make_person(f"Mason {name}")
        enrol(run, person)
        if last is not None:
            expires = today + timedelta(days=last)
            keep(yard.lead, person, yard.provider, "mask", expires_on=expires)
    shown = see(yard.lead, "run_papers", run.pk)
    for name in names:
        row = shown.partition(f"Mason {name}</a>")[2].partition("</tr>")[0]
        assert f"<span>{name}</span>" in row
    assert shown.count('class="lapsing"') == 1
    assert "2 of the enrolled trainees lack a paper" in shown
    assert "No qualification shown that holds" in shown
    assert "No qualification" not in see(yard.instructor, "run_papers", run.pk)
    assert "Local codes" in shown or "local codes" in shown


def test_a_trainee_sees_what_the_run_asks_for_and_the_own_papers(
    yard: Yard, django_assert_num_queries: Any
) -> None:
    shown = see(yard.trainee, "my_papers")
    assert "Respirator fit" in shown
    assert "The practical task does not start without it." in shown
    keep(yard.lead, yard.trainee, yard.provider, "mask")
    shown = see(yard.trainee, "my_papers")
    assert "You have shown what is asked for." in shown
    assert "Card of mask" in shown
    client = browser(yard.trainee)
    with django_assert_num_queries(9):
        client.get(reverse("my_papers"))
    for _ in range(2):
        keep(yard.lead, yard.trainee, yard.provider, "mask")
        enrol(make_run(yard.run.program), yard.trainee)
    with django_assert_num_queries(9):
        client.get(reverse("my_papers"))


def test_missing_papers_for_the_course_warn_at_enrolment_and_refuse_nothing(yard: Yard) -> None:
    ask_for(yard.run.program, "induction", title="Site induction", applies="course")
    client = browser(yard.lead)
    response = client.post(
        reverse("run_enrol", args=[yard.run.pk]),
        {"full_name": "Bryn Oakes", "email": "bryn.oakes@example.org", "employer": ""},
        follow=True,
    )
    shown = response.content.decode()
    assert "Bryn Oakes lacks papers for the course. Site induction: no paper was shown." in shown
    assert "Respirator fit: no paper was shown" not in shown.partition('<div class="body">')[0]
    response = client.post(
        reverse("run_enrol_file", args=[yard.run.pk]),
        {"text": "full_name,email,employer\nArlo Finch,arlo.finch@example.org,\n"},
        follow=True,
    )
    assert "3 enrolled trainees lack papers for the course" in response.content.decode()
    assert yard.run.enrolments.count() == 3


def test_an_instructor_without_a_qualification_may_teach_with_a_warning(yard: Yard) -> None:
    client, address = browser(yard.lead), reverse("run_instructor", args=[yard.run.pk])
    response = client.post(address, {"person": yard.other.pk}, follow=True)
    assert f"{yard.other} has shown no instructor&#x27;s qualification" in response.content.decode()
    assert yard.run.instructors.filter(pk=yard.other.pk).exists()
    third = make_role(Role.Kind.INSTRUCTOR, yard.provider)
    keep(yard.lead, third, yard.provider, "instructor")
    response = client.post(address, {"person": third.pk}, follow=True)
    assert "has shown no instructor" not in response.content.decode()
