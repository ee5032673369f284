"""The pages of a plan: from the result to what is agreed, with good work of nobody named."""

from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from assessments.actions.attempts import start_attempt
from assessments.actions.decisions import sign_off
from assessments.actions.logged import show_as_evidence
from assessments.models import Attempt, PracticePlan
from assessments.queries.good_work import good_work
from tests.assessments.builders import GOOD, Yard, score_all
from tests.assessments.progress.builders import browser, decided, practice_yard, proposed, today
from tests.factories import enrol, make_person
from tests.training.sitelog.builders import new_photo, note
from training.actions.sitelog import NewPhoto
from training.models import Consent, LogPhoto, Person
from training.queries.scope import roles_of
from training.queries.todo import todos_of

pytestmark = pytest.mark.django_db


@pytest.fixture
def yard(db: None) -> Yard:
    """Return a yard with modules, whose run is on."""
    return practice_yard()


def test_from_the_result_to_a_plan_that_is_agreed(yard: Yard) -> None:
    attempt = decided(yard)
    own, teacher = browser(yard.trainee), browser(yard.instructor)
    plan_page = reverse("attempt_plan", args=[attempt.pk])
    assert "Criterion C3: no was found; needed is yes." in text(own, plan_page)
    form = own.get(reverse("attempt_plan_propose", args=[attempt.pk])).context["form"]
    sent = {name: str(form[name].value() or "") for name in form.fields if "leave" not in name}
    answer = own.post(reverse("attempt_plan_propose", args=[attempt.pk]), sent)
    assert answer["Location"] == plan_page
    plan = PracticePlan.objects.get()
    item = plan.items.get()
    assert (item.criterion, item.module.key) == ("C3", "M2")  # type: ignore[union-attr]
    assert "Waits for the other side" in text(own, plan_page)
    assert [todo.url for todo in todos(yard.instructor) if "plan" in todo.url] == [plan_page]
    assert not [todo for todo in todos(yard.trainee) if "plan" in todo.url]
    assert "Waits for your answer" in text(teacher, plan_page)
    teacher.post(reverse("plan_agree", args=[plan.pk]))
    assert "Agreed" in text(own, plan_page)
    assert [todo.url for todo in todos(yard.trainee) if "plan" in todo.url] == [plan_page]
    own.post(reverse("plan_item_done", args=[item.pk]), {"done": "yes"})
    assert "Done on" in text(own, plan_page)
    assert not [todo for todo in todos(yard.trainee) if "plan" in todo.url]
    own.post(reverse("plan_item_done", args=[item.pk]), {"done": "no"})
    assert "Practised: tick it off" in text(own, plan_page)


def test_a_faulty_row_is_said_where_it_stands_and_nothing_is_lost(yard: Yard) -> None:
    attempt = decided(yard)
    address = reverse("attempt_plan_propose", args=[attempt.pk])
    sent = {
        "rows": "3",
        "replaces": "",
        "note": "After work.",
        "text_0": "Wedge three joints dry.",
        "by_day_0": "2001-02-03",
        "text_1": "",
        "by_day_1": today(yard).isoformat(),
    }
    answer = browser(yard.trainee).post(address, sent)
    form = answer.context["form"]
    assert answer.status_code == 422
    assert set(form.errors) == {"text_1"}
    answer = browser(yard.trainee).post(address, {**sent, "leave_out_1": "on"})
    assert set(answer.context["form"].errors) == {"by_day_0"}
    for kept in ("Wedge three joints dry.", "2001-02-03", "After work."):
        assert kept in answer.content.decode()
    for rows in ("", "many", "0", "9999"):
        assert browser(yard.trainee).post(address, {**sent, "rows": rows}).status_code == 422
    assert not PracticePlan.objects.exists()


def test_a_page_opened_before_another_proposal_does_not_overtake_it(yard: Yard) -> None:
    attempt = decided(yard)
    first = proposed(yard, attempt, yard.instructor)
    sent = {
        "rows": "1",
        "replaces": "",
        "text_0": "Rake one joint.",
        "by_day_0": today(yard).isoformat(),
    }
    address = reverse("attempt_plan_propose", args=[attempt.pk])
    answer = browser(yard.trainee).post(address, sent)
    assert answer.status_code == 422
    assert "Rake one joint." in answer.content.decode()
    answer = browser(yard.trainee).post(address, {**sent, "replaces": str(first.pk)})
    assert answer.status_code == 302
    shown = text(browser(yard.instructor), reverse("attempt_plan", args=[attempt.pk]))
    assert "Plans before this one" in shown
    assert "Wedge three joints dry." in shown


def made_by_another(yard: Yard, photo: NewPhoto, **values: Any) -> tuple[Person, Attempt]:
    """Return a fellow whose decided attempt the log shows with ``photo``."""
    fellow = make_person("Fellow Mason")
    attempt = start_attempt(actor=yard.instructor, enrolment=enrol(yard.run, fellow))
    score_all(attempt, yard.instructor, **values)
    written = note(yard.instructor, yard.run, "Fellow Mason wedged it well", photos=(photo,))
    show_as_evidence(
        actor=yard.instructor, note=written, attempt=attempt, subjects=[("criterion", "C3")]
    )
    sign_off(actor=yard.instructor, attempt=attempt, password_checked=True)
    return fellow, attempt


def agrees(yard: Yard, person: Person, given: bool = True) -> None:
    Consent.objects.create(
        person=person,
        provider=yard.provider,
        kind=Consent.Kind.PHOTOGRAPHS,
        given=given,
        words="I agree.",
        by=person,
    )


def test_good_work_of_others_is_shown_with_their_consent_and_without_their_name(
    yard: Yard,
) -> None:
    fellow, _ = made_by_another(yard, new_photo("By Fellow Mason"), C3=GOOD["C3"])
    attempt = decided(yard)
    photo = LogPhoto.objects.get()
    client = browser(yard.trainee)
    page = reverse("attempt_plan", args=[attempt.pk])
    address = reverse("attempt_example", args=[attempt.pk, photo.pk])
    assert address not in text(client, page)
    assert client.get(address).status_code == 404
    agrees(yard, fellow)
    shown = text(client, page)
    assert address in shown
    assert 'alt="Work that met: Criterion C3"' in shown
    assert "Fellow" not in shown
    answer = client.get(address)
    assert (answer.status_code, answer["Content-Type"]) == (200, "image/jpeg")
    assert "Fellow" not in str(answer.headers)
    # The log's own address stays closed: its note tells more.
    assert client.get(reverse("log_photo", args=[photo.pk])).status_code == 404
    stranger = practice_yard()
    assert browser(stranger.instructor).get(address).status_code == 404
    agrees(yard, fellow, given=False)
    assert client.get(address).status_code == 404


def test_photographs_of_people_or_of_work_that_did_not_meet_it_teach_nobody(yard: Yard) -> None:
    seen = NewPhoto(new_photo().photograph, "At the banker", people=True)
    agrees(yard, made_by_another(yard, seen, C3=GOOD["C3"])[0])
    attempt = decided(yard)
    assert not good_work(attempt, {"C3"})
    agrees(yard, made_by_another(yard, new_photo(), C3={"answer": False})[0])
    assert not good_work(attempt, {"C3"})
    assert not good_work(attempt, set())
    agrees(yard, made_by_another(yard, new_photo(), C3=GOOD["C3"])[0])
    assert list(good_work(attempt, {"C3"})) == ["C3"]


def text(client: Client, address: str) -> str:
    """Return the page, which must be there."""
    answer = client.get(address)
    assert answer.status_code == 200
    return answer.content.decode()


def todos(person: Person) -> Any:
    return todos_of(person, roles_of(person))
