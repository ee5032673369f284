"""One's own sessions: the page, and the secret address that a calendar program reads."""

import re
from datetime import timedelta

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone
from icalendar import Calendar
from pytest_django import DjangoAssertNumQueries

from tests.training.calendar.planning import bay, module, planned, signed_in
from tests.training.yard import Yard
from training.actions.person_feeds import make_person_feed, revoke_person_feed
from training.actions.publishing import publish_calendar
from training.actions.sessions import cancel_session
from training.models import Person, PersonFeed, Session
from training.queries.calendar import sessions_of, sessions_of_person
from training.queries.my_sessions import feed_sessions

pytestmark = pytest.mark.django_db


def coming(yard: Yard, **fields: object) -> Session:
    """Return a session that is still to come whenever this runs."""
    session = planned(yard, **fields)
    start = timezone.now() + timedelta(days=3)
    Session.objects.filter(pk=session.pk).update(
        starts_at=start, ends_at=start + timedelta(hours=1)
    )
    return session


def test_trainees_see_what_is_published_instructors_what_they_teach(yard: Yard) -> None:
    coming(yard, title="Pins", place=bay(yard, grid="C4"), instructors=(yard.teacher,))
    for person, seen in ((yard.teacher, True), (yard.trainee, False), (yard.stranger, False)):
        page = signed_in(person).get(reverse("my_sessions")).text
        assert ("Pins" in page) is seen
        assert ("Not published" in page) is seen
    publish_calendar(actor=yard.lead, run=yard.run)
    page = signed_in(yard.trainee).get(reverse("my_sessions")).text
    assert "Bay 3, C4" in page
    assert "America/New_York" in page
    assert "Not published" not in page


def test_sessions_between_two_instants(yard: Yard) -> None:
    session = planned(yard)
    around = [
        (session.ends_at, None, 0),
        (session.ends_at - timedelta(seconds=1), None, 1),
        (None, session.starts_at, 0),
        (None, session.starts_at + timedelta(seconds=1), 1),
    ]
    for start, end, number in around:
        assert sessions_of_person(yard.trainee, start, end).count() == number
    assert sessions_of_person(yard.teacher).count() == 0
    cancel_session(actor=yard.lead, session=session)
    assert sessions_of_person(yard.trainee).count() == 0
    assert sessions_of_person(yard.trainee, cancelled=True).count() == 1
    assert (sessions_of(yard.run).count(), sessions_of(yard.run, cancelled=True).count()) == (0, 1)


def test_the_feed_is_read_by_its_secret_alone(yard: Yard, client: Client) -> None:
    kept = coming(yard, title="Pins; “dry”, " + "long " * 20, module=module(yard))
    gone = coming(yard, title="Grout")
    publish_calendar(actor=yard.lead, run=yard.run)
    cancel_session(actor=yard.lead, session=gone)
    made = signed_in(yard.trainee).post(reverse("person_feed_make"))
    match = re.search(r'value="(http\S+/my-sessions/([\w-]{43})\.ics)"', made.text)
    assert match
    assert "no-store" in made.headers["Cache-Control"]
    assert match[2] not in signed_in(yard.trainee).get(reverse("my_sessions")).text
    answer = client.get(reverse("person_feed", args=[match[2]]))
    assert (answer.status_code, answer["Content-Type"]) == (200, "text/calendar; charset=utf-8")
    assert (answer["Referrer-Policy"], answer["X-Robots-Tag"].split(",")[0]) == (
        "no-referrer",
        "noindex",
    )
    # RFC 5545, 3.1: lines end with CRLF and have at most 75 octets.
    lines = answer.content.split(b"\r\n")
    assert max(map(len, lines)) <= 75
    assert b"\n" not in b"".join(lines)
    calendar = Calendar.from_ical(answer.content)
    assert calendar["METHOD"] == "PUBLISH"
    events = {str(event["UID"]): event for event in calendar.walk("VEVENT")}
    assert len(events) == 2
    event = events[f"session-{kept.pk}@bankermark"]
    assert str(event["SUMMARY"]) == kept.title
    # RFC 5546, 3.2.1: a published event has an organizer and no attendees.
    assert "ORGANIZER" in event
    assert "ATTENDEE" not in event
    off = events[f"session-{gone.pk}@bankermark"]
    assert (off["STATUS"], off["SEQUENCE"]) == ("CANCELLED", 1)


def test_unknown_revoked_and_inactive_answer_alike(yard: Yard, client: Client) -> None:
    def dead(token: str) -> str:
        answer = client.get(reverse("person_feed", args=[token]))
        assert answer.status_code == 404
        return re.sub(r"nonce-\S+", "", answer.text)

    unknown = dead("A" * 43)
    feed, first = make_person_feed(actor=yard.trainee)
    assert first not in feed.token_sha256
    _, second = make_person_feed(actor=yard.trainee)
    assert dead(first) == unknown
    assert client.get(reverse("person_feed", args=[second])).status_code == 200
    Person.objects.filter(pk=yard.trainee.pk).update(is_active=False)
    assert dead(second) == unknown
    Person.objects.filter(pk=yard.trainee.pk).update(is_active=True)
    revoke_person_feed(actor=yard.trainee)
    assert dead(second) == unknown
    assert PersonFeed.objects.filter(revoked_at__isnull=True).count() == 0


def test_one_and_three_sessions_ask_as_often(
    yard: Yard, client: Client, django_assert_num_queries: DjangoAssertNumQueries
) -> None:
    _, token = make_person_feed(actor=yard.trainee)
    coming(yard, instructors=(yard.teacher,), module=module(yard))
    publish_calendar(actor=yard.lead, run=yard.run)
    reader = signed_in(yard.trainee)
    for number in (1, 3):
        while yard.run.sessions.count() < number:
            planned(yard, 3, 8 + 2 * yard.run.sessions.count(), 20, title="More")
        with django_assert_num_queries(3):  # the feed, sessions, who teaches
            client.get(reverse("person_feed", args=[token]))
        # Session and person of the request, navigation, sessions, who teaches, waiting, the feed.
        with django_assert_num_queries(7):
            reader.get(reverse("my_sessions"))
        assert len(feed_sessions(yard.trainee)) == number
