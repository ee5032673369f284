"""The result before and after signing: what is said, to whom, and signing itself."""

from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from assessments.actions.decisions import sign_off
from assessments.actions.observations import record_observation
from assessments.models import Attempt, Decision
from tests.assessments.builders import ONE_ASSESSOR, Yard, event, make_yard, readings, score_all
from tests.factories import PASSWORD, enrol, make_organisation, make_person, make_role, make_run
from training.models import Person, Role

pytestmark = pytest.mark.django_db
AT_THE_LIMIT = readings(("1/16", "1/16", "in"), ("1/8", "1/8", "in"))


def browser(person: Person) -> Client:
    client = Client()
    client.force_login(person)
    return client


def decide_address(attempt: Attempt) -> str:
    return reverse("attempt_decide", args=[attempt.pk])


def sign(client: Client, attempt: Attempt, **changes: str) -> Any:
    """Open the page, then send what its form would send."""
    seen = client.get(decide_address(attempt)).context["seen"]
    return client.post(
        decide_address(attempt), {"seen": seen, "note": "", "password": PASSWORD, **changes}
    )


def decided(yard: Yard, **changes: Any) -> Attempt:
    attempt = yard.attempt()
    score_all(attempt, yard.instructor, **changes)
    sign_off(actor=yard.instructor, attempt=attempt, password_checked=True, note="Seen in rain.")
    return attempt


def test_the_preview_names_what_is_missing_with_links() -> None:
    yard = make_yard()
    attempt = yard.attempt()
    score_all(attempt, yard.instructor, C5=None)
    shown = browser(yard.instructor).get(decide_address(attempt)).content.decode()
    assert "Incomplete" in shown
    assert "That is not a failure" in shown
    assert "Criterion C5: to be observed." in shown
    link = reverse("attempt_score_subject", args=[attempt.pk, "criterion", "C5"])
    assert f'href="{link}"' in shown
    assert "Close as incomplete" in shown


def test_signing_with_the_password_decides() -> None:
    yard = make_yard()
    attempt = yard.attempt()
    score_all(attempt, yard.instructor)
    response = sign(browser(yard.instructor), attempt, note="Even joint.")
    assert response.status_code == 302
    decision = Decision.objects.get()
    assert (decision.result, decision.note) == ("met", "Even joint.")
    assert decision.decided_by == yard.instructor


@pytest.mark.parametrize("password", ["", "wrong horse"])
def test_a_wrong_password_is_an_error_at_its_field(password: str) -> None:
    yard = make_yard()
    attempt = yard.attempt()
    score_all(attempt, yard.instructor)
    response = sign(browser(yard.instructor), attempt, note="Kept words", password=password)
    assert response.status_code == 422
    assert list(response.context["form"].errors) == ["password"]
    shown = response.content.decode()
    assert "Kept words" in shown
    assert "wrong horse" not in shown
    assert not Decision.objects.exists()


def test_the_password_of_somebody_else_does_not_sign() -> None:
    yard = make_yard()
    yard.lead.set_password("somebody else's long word")
    yard.lead.save()
    attempt = yard.attempt()
    score_all(attempt, yard.instructor)
    response = sign(browser(yard.lead), attempt)
    assert response.status_code == 422
    assert not Decision.objects.exists()


def test_guessing_is_stopped() -> None:
    yard = make_yard()
    attempt = yard.attempt()
    score_all(attempt, yard.instructor)
    client = browser(yard.instructor)
    statuses = [sign(client, attempt, password=f"guess {i}").status_code for i in range(7)]
    assert statuses[0] == 422
    assert statuses[-1] == 429
    # Not even the right one now.
    assert sign(client, attempt).status_code == 429
    assert not Decision.objects.exists()


def test_incomplete_is_closed_only_with_a_reason() -> None:
    yard = make_yard()
    attempt = yard.attempt()
    score_all(attempt, yard.instructor, C5=None)
    client = browser(yard.instructor)
    response = sign(client, attempt)
    assert response.status_code == 422
    assert list(response.context["form"].errors) == ["note"]
    assert sign(client, attempt, note="Thunderstorm.").status_code == 302
    shown = browser(yard.trainee).get(reverse("attempt", args=[attempt.pk])).content.decode()
    assert "Why it was closed" in shown
    assert "Thunderstorm." in shown


def test_undecided_cannot_be_signed() -> None:
    yard = make_yard(pass_rule={**ONE_ASSESSOR, "cut": "0.8", "band": "0.05"})
    attempt = yard.attempt()
    score_all(attempt, yard.instructor, C4={"count": 5})
    client = browser(yard.instructor)
    shown = client.get(decide_address(attempt)).content.decode()
    assert "Undecided" in shown
    assert "A second assessor must score" in shown
    assert 'type="password"' not in shown
    assert client.post(decide_address(attempt), {"password": PASSWORD}).status_code == 200
    assert not Decision.objects.exists()


def test_what_changed_meanwhile_is_shown_before_signing() -> None:
    yard = make_yard()
    attempt = yard.attempt()
    score_all(attempt, yard.instructor)
    client = browser(yard.instructor)
    seen = client.get(decide_address(attempt)).context["seen"]
    record_observation(actor=yard.lead, event=event(attempt, "C3", {"answer": False}))
    sent = {"seen": seen, "password": PASSWORD}
    response = client.post(decide_address(attempt), sent)
    assert "after you opened this page" in response.content.decode()
    assert not Decision.objects.exists()
    again = {"seen": response.context["seen"], "password": PASSWORD}
    assert client.post(decide_address(attempt), again).status_code == 302
    assert Decision.objects.get().result == "not_yet_met"


def test_an_open_attempt_says_nothing_to_the_trainee() -> None:
    yard = make_yard()
    attempt = yard.attempt()
    score_all(attempt, yard.instructor, C1={"level": 0})
    shown = browser(yard.trainee).get(reverse("attempt", args=[attempt.pk])).content.decode()
    assert "Your attempt is being assessed" in shown
    for hidden in ("Criterion C1", "Not met", "Open joint", "Sign off", "Go on scoring"):
        assert hidden not in shown
    assert browser(yard.trainee).get(decide_address(attempt)).status_code == 403


def test_the_result_comes_in_this_order() -> None:
    yard = make_yard()
    attempt = decided(yard, C1={"level": 0}, C2=AT_THE_LIMIT, C3={"answer": False})
    shown = browser(yard.trainee).get(reverse("attempt", args=[attempt.pk])).content.decode()
    order = [
        "You have not yet met the passing standard",
        "What decided it",
        "Criterion C3, is critical and not met.",
        "Seen in rain.",
        'href="#now"',
        "Outcomes",
        "What was seen",
        "Dry fit",
        "Open joint, or a face that rocks",
        "Within the guard band",
        "Required:",
        'class="figure number-line"><svg',
        "What you can do now",
        "I have read it",
        "What to practise",
        "The decision",
        yard.standard.digest,
    ]
    place = 0
    for words in order:
        place = shown.find(words, place)
        assert place >= 0, words
    assert "certified" not in shown.lower()


def test_the_assessors_note_stands_with_its_criterion() -> None:
    yard = make_yard()
    attempt = yard.attempt()
    score_all(attempt, yard.instructor, C1=None)
    noted = event(attempt, "C1", {"level": 1}, note="Hollow <b>spot</b> at the heel")
    record_observation(actor=yard.instructor, event=noted)
    sign_off(actor=yard.lead, attempt=attempt, password_checked=True)
    shown = browser(yard.trainee).get(reverse("attempt", args=[attempt.pk])).content.decode()
    assert "Hollow &lt;b&gt;spot&lt;/b&gt; at the heel" in shown
    assert f"Seen by {yard.instructor}" in shown
    assert f"Signed off by</dt><dd>{yard.lead}" in shown


def test_who_sees_a_result() -> None:
    yard = make_yard()
    attempt = decided(yard)
    colleague = make_person()
    enrol(yard.run, colleague)
    seers = {yard.trainee: 200, yard.instructor: 200, yard.lead: 200}
    contractor = make_role(Role.Kind.CONTRACTOR, make_organisation("contractor"))
    others = {colleague: 404, contractor: 404, make_yard().lead: 404}
    for person, status in {**seers, **others}.items():
        client = browser(person)
        assert client.get(reverse("attempt", args=[attempt.pk])).status_code == status
    assert browser(colleague).get(decide_address(attempt)).status_code == 404


def test_a_second_attempt_shows_the_history() -> None:
    yard = make_yard()
    first = decided(yard, C3={"answer": False})
    second = decided(yard)
    shown = browser(yard.trainee).get(reverse("attempt", args=[second.pk])).content.decode()
    assert "You met the passing standard" in shown
    assert reverse("attempt", args=[first.pk]) in shown
    assert "All attempts" in shown


def test_my_results_costs_the_same_for_one_and_three() -> None:
    yard = make_yard()
    decided(yard)
    client = browser(yard.trainee)

    def cost() -> int:
        with CaptureQueriesContext(connection) as queries:
            response = client.get(reverse("my_results"))
        assert response.status_code == 200
        return len(queries)

    one = cost()
    for _ in range(2):
        run = make_run(yard.program, instructors=(yard.instructor,))
        again = Yard(**{**vars(yard), "run": run, "enrolment": enrol(run, yard.trainee)})
        decided(again, C3={"answer": False})
    response = client.get(reverse("my_results"))
    assert len(response.context["rows"]) == 3
    assert [row.word for row in response.context["rows"]].count("not_yet_met") == 2
    assert cost() == one


def test_my_results_are_only_mine() -> None:
    yard = make_yard()
    decided(yard)
    response = browser(make_person()).get(reverse("my_results"))
    assert response.context["rows"] == []
    assert "No attempt yet" in response.content.decode()
