"""The page of a retake, what the result page and the run's page say of it."""

import re
from datetime import timedelta
from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from assessments.actions.decisions import sign_off
from assessments.actions.retakes import arrange_retake, start_retake
from assessments.models import Attempt, Retake, RetakeDay
from tests.assessments.builders import Yard, score_all
from tests.assessments.retakes.builders import SEEN, days_ago, decided, failed_yard
from tests.factories import enrol, make_person
from training.models import Person
from training.queries.fit import day_at

pytestmark = pytest.mark.django_db


def browser(person: Person) -> Client:
    client = Client()
    client.force_login(person)
    return client


def text(response: Any) -> str:
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", response.content.decode()))


def page(attempt: Attempt) -> str:
    return reverse("attempt_retake", args=[attempt.pk])


def test_it_shows_what_stands_and_starts_the_open_stages() -> None:
    yard, first = failed_yard()
    client = browser(yard.instructor)
    shown = text(client.get(page(first)))
    assert "2 are left" in shown
    assert "Dry fit Yes Stands" in shown
    assert "Setting No Made again" in shown
    answer = client.post(page(first), {"scope": "open", "stands": SEEN})
    attempt = Attempt.objects.get(number=2)
    assert answer["Location"] == reverse("attempt_score", args=[attempt.pk])
    assert attempt.retake.stages == ["set"]


def test_nothing_entered_is_lost_and_faults_stand_at_their_fields() -> None:
    yard, first = failed_yard(0)
    client = browser(yard.instructor)
    answer = client.post(page(first), {"scope": "open", "stands": ""})
    assert answer.status_code == 422
    yard, first = failed_yard()
    client = browser(yard.instructor)
    answer = client.post(page(first), {"scope": "", "stands": "Nothing moved."})
    assert answer.status_code == 422
    assert "Choose what is made again." in text(answer)
    assert "Nothing moved." in text(answer)
    answer = client.post(page(first), {"scope": "open", "stands": " "})
    assert "Look at the work that stays, and write what you saw." in text(answer)
    day = reverse("retake_day", args=[first.pk])
    answer = client.post(day, {"day": "2020-01-01", "place": "Bench 9"})
    assert answer.status_code == 422
    assert "This day is over" in text(answer)
    assert "Bench 9" in answer.content.decode()
    for typed in ("", "tomorrow", "2026-13-01"):
        assert client.post(day, {"day": typed, "place": "Bench 9"}).status_code == 422
    assert not Retake.objects.exists()
    assert not RetakeDay.objects.exists()


def test_the_whole_task_needs_no_words_of_what_stays() -> None:
    yard, first = failed_yard(scope="whole")
    client = browser(yard.instructor)
    assert "scope" not in client.get(page(first)).content.decode().split("<main")[1]
    client.post(page(first), {})
    assert Retake.objects.get().carried == []


def test_a_day_is_arranged_and_given_up_from_the_page() -> None:
    yard, first = failed_yard()
    client = browser(yard.lead)
    day = day_at(yard.run.site) + timedelta(days=2)
    sent = {"day": day.isoformat(), "place": "Yard 3"}
    answer = client.post(reverse("retake_day", args=[first.pk]), sent)
    assert answer["Location"] == page(first)
    assert "Yard 3" in text(client.get(page(first)))
    give_up = reverse("retake_day_give_up", args=[first.pk])
    assert client.post(give_up, {"reason": ""}).status_code == 422
    assert client.post(give_up, {"reason": "Frost"})["Location"] == page(first)
    assert "Not yet" in text(client.get(page(first)))


def test_before_the_earliest_day_it_can_be_arranged_and_not_started() -> None:
    yard, first = failed_yard(2)
    shown = browser(yard.instructor).get(page(first))
    assert "the earliest day is" in text(shown)
    assert "Start the retake" not in text(shown)
    assert "Save the day" in text(shown)


def test_an_older_attempt_leads_to_the_one_that_counts() -> None:
    yard, first = failed_yard(0, after_days=0)
    client = browser(yard.instructor)
    second = start_retake(actor=yard.instructor, attempt=first, whole=True)
    assert "open already" in text(client.get(page(first)))
    assert client.get(page(second))["Location"] == page(first)


def test_the_trainee_reads_when_and_what_below_the_result() -> None:
    yard, first = failed_yard(0)
    client = browser(yard.trainee)
    result = reverse("attempt", args=[first.pk])
    shown = text(client.get(result))
    assert "the earliest day is" in shown
    assert "Only these stages need to be made again" in shown
    assert "Setting" in shown
    assert "2 attempts are left." in shown
    assert page(first) not in client.get(result).content.decode()
    assert client.get(page(first)).status_code == 403
    arrange_retake(
        actor=yard.instructor,
        attempt=first,
        day=day_at(yard.run.site) + timedelta(days=8),
        place="Yard 3, bench 2",
    )
    assert "Yard 3, bench 2" in text(client.get(result))


def test_a_retake_says_what_it_was_made_after_and_the_earlier_one_stays() -> None:
    yard, first = failed_yard()
    attempt = start_retake(actor=yard.instructor, attempt=first, whole=False, stands=SEEN)
    client = browser(yard.instructor)
    before = text(client.get(reverse("attempt", args=[first.pk])))
    assert "Attempt 2 is being made now." in before
    score_all(attempt, yard.instructor, C1=None, C2=None, fit=None)
    sign_off(actor=yard.instructor, attempt=attempt, password_checked=True)
    shown = text(client.get(reverse("attempt", args=[attempt.pk])))
    assert "This attempt was made after attempt 1" in shown
    assert "not scored again: Dry fit." in shown
    assert SEEN in shown


def test_the_run_leads_to_the_retake_with_a_constant_number_of_queries() -> None:
    yard, first = failed_yard()
    client = browser(yard.instructor)
    address = reverse("run", args=[yard.run.pk])
    shown = client.get(address)
    assert page(first) in shown.content.decode()
    assert "Retake from" in text(shown)
    with CaptureQueriesContext(
        connection,
    ) as one:
        client.get(address)
    for _ in range(2):
        trainee = make_person()
        other = Yard(**{**vars(yard), "trainee": trainee, "enrolment": enrol(yard.run, trainee)})
        days_ago(decided(other), 7)
    with CaptureQueriesContext(connection) as three:
        assert "Retake from" in text(client.get(address))
    assert len(three) == len(one)
