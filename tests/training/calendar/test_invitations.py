"""Invitations: RFC 5545 and RFC 5546 by the icalendar library, and the e-mail by Python's own."""

from datetime import timedelta
from email import message_from_bytes
from email.message import Message
from typing import Any

import pytest
from django.core.mail import EmailMessage
from icalendar import Calendar, Component
from pytest_django import DjangoCaptureOnCommitCallbacks

from tests.factories import enrol, make_person
from tests.training.calendar.planning import at, bay, module, plan, planned
from tests.training.yard import Yard
from training.actions.publishing import publish_calendar
from training.actions.sessions import add_session, cancel_session, change_session, set_instructors
from training.errors import Refused
from training.models import Session

pytestmark = pytest.mark.django_db
Callbacks = DjangoCaptureOnCommitCallbacks
Sent = dict[str, list[tuple[str, Component]]]


def calendar_parts(sent: EmailMessage) -> list[Message]:
    """Return the calendar parts of an e-mail, as a mail program reads what was sent by SMTP."""
    wire = sent.message().as_bytes(linesep="\r\n")  # type: ignore[call-arg]  # as its stubs miss
    whole = message_from_bytes(wire)
    return [part for part in whole.walk() if part.get_content_type() == "text/calendar"]


def read(sent: EmailMessage) -> list[tuple[str, Component]]:
    """Return (method, event) of each calendar in an e-mail."""
    found = []
    for part in calendar_parts(sent):
        payload = part.get_payload(decode=True)
        assert isinstance(payload, bytes)
        assert b"\r\n" in payload  # RFC 5545, 3.1
        calendar = Calendar.from_ical(payload)
        # RFC 6047, 2.4: the parameter has to be the METHOD of the object.
        assert part.get_param("method") == calendar["METHOD"]
        assert str(part.get_content_charset()) == "utf-8"
        (event,) = calendar.walk("VEVENT")  # RFC 5546, 3.2.2: one UID in an object
        found.append((str(calendar["METHOD"]), event))
    return found


def by_reader(mailoutbox: list[Any]) -> Sent:
    """Return what each address was sent, and forget it."""
    told = {sent.to[0]: read(sent) for sent in mailoutbox}
    assert len(told) == len(mailoutbox)  # one message each
    mailoutbox.clear()
    return told


@pytest.fixture
def published(yard: Yard) -> tuple[Yard, Session, Session]:
    """Return a yard with a published calendar of two sessions; the teacher has the first."""
    first = planned(yard, 3, 8, 10, place=bay(yard, grid="C4"), instructors=(yard.teacher,))
    second = planned(yard, 3, 22, 23, title="Grøut; wet, “cold”", module=module(yard))
    publish_calendar(actor=yard.lead, run=yard.run)
    return yard, first, second


def test_nothing_is_sent_before_publishing(
    yard: Yard, mailoutbox: list[Any], django_capture_on_commit_callbacks: Callbacks
) -> None:
    with django_capture_on_commit_callbacks(execute=True):
        session = planned(yard, instructors=(yard.teacher,))
        change_session(actor=yard.lead, session=session, plan=plan(4))
        cancel_session(actor=yard.lead, session=session)
    assert mailoutbox == []
    session.refresh_from_db()
    assert session.sequence == 0
    with pytest.raises(Refused, match="nothing to publish"):
        publish_calendar(actor=yard.lead, run=yard.run)


def test_publishing_invites_each_to_what_is_theirs(
    yard: Yard, mailoutbox: list[Any], django_capture_on_commit_callbacks: Callbacks
) -> None:
    first = planned(yard, 3, 8, 10, place=bay(yard, grid="C4"), instructors=(yard.teacher,))
    second = planned(yard, 3, 22, 23, title="Grøut; wet, “cold”", module=module(yard))
    gone, waits = enrol(yard.run, make_person()), enrol(yard.run, make_person())
    yard.run.enrolments.filter(pk=gone.pk).update(state="withdrawn")
    yard.run.enrolments.filter(pk=waits.pk).update(state="waiting")
    with django_capture_on_commit_callbacks(execute=True):
        assert publish_calendar(actor=yard.lead, run=yard.run) == 2
    told = by_reader(mailoutbox)
    assert {address: len(found) for address, found in told.items()} == {
        yard.trainee.email: 2,
        yard.teacher.email: 1,
    }
    method, event = told[yard.teacher.email][0]
    assert (method, event["STATUS"], event["SEQUENCE"]) == ("REQUEST", "CONFIRMED", 0)
    assert event.decoded("DTSTART") == first.starts_at
    assert event.decoded("DTEND") == first.ends_at
    assert event.decoded("DTSTART").utcoffset() == timedelta(0)
    assert str(event["UID"]) == f"session-{first.pk}@bankermark"
    assert str(event["LOCATION"]).startswith("Bay 3, C4, Site")
    # RFC 5546, 3.2.2: organizer and attendee have to be there; nobody learns of the others.
    assert str(event["ATTENDEE"]) == f"mailto:{yard.teacher.email}"
    assert event["ORGANIZER"].params["CN"] == yard.provider.name
    other = told[yard.trainee.email][1][1]
    assert str(other["SUMMARY"]) == second.title
    assert "Part 1 (lecture)" in str(other["DESCRIPTION"])


def test_a_change_counts_up_and_goes_to_all(
    published: tuple[Yard, Session, Session],
    mailoutbox: list[Any],
    django_capture_on_commit_callbacks: Callbacks,
) -> None:
    yard, first, _ = published
    same = plan(3, 8, 10, place=first.place, instructors=(yard.teacher,))
    moved = plan(4, 8, 10, place=first.place, instructors=(yard.teacher,))
    with django_capture_on_commit_callbacks(execute=True):
        change_session(actor=yard.lead, session=first, plan=same)
    assert mailoutbox == []
    with django_capture_on_commit_callbacks(execute=True):
        change_session(actor=yard.lead, session=first, plan=moved)
    assert all(sent.subject.startswith("Changed: Pins, 4 Nov 2026, 08:00") for sent in mailoutbox)
    told = by_reader(mailoutbox)
    assert set(told) == {yard.trainee.email, yard.teacher.email}
    ((method, event),) = told[yard.trainee.email]
    assert (method, event["SEQUENCE"], event.decoded("DTSTART")) == ("REQUEST", 1, at(4, 8))


def test_an_instructor_off_it_is_told_of_a_cancellation(
    published: tuple[Yard, Session, Session],
    mailoutbox: list[Any],
    django_capture_on_commit_callbacks: Callbacks,
) -> None:
    yard, first, _ = published
    yard.run.instructors.add(yard.other_teacher)
    with django_capture_on_commit_callbacks(execute=True):
        set_instructors(actor=yard.lead, session=first, instructors=[yard.other_teacher])
    told = by_reader(mailoutbox)
    assert {address: found[0][0] for address, found in told.items()} == {
        yard.trainee.email: "REQUEST",
        yard.other_teacher.email: "REQUEST",
        yard.teacher.email: "CANCEL",
    }
    assert {found[0][1]["SEQUENCE"] for found in told.values()} == {1}


def test_a_cancellation_keeps_the_uid_and_counts_up(
    published: tuple[Yard, Session, Session],
    mailoutbox: list[Any],
    django_capture_on_commit_callbacks: Callbacks,
) -> None:
    yard, first, _ = published
    with django_capture_on_commit_callbacks(execute=True):
        cancel_session(actor=yard.lead, session=first)
    told = by_reader(mailoutbox)
    assert set(told) == {yard.trainee.email, yard.teacher.email}
    for ((method, event),) in told.values():
        # RFC 5546, 3.2.5: CANCEL with STATUS:CANCELLED and a higher SEQUENCE.
        assert (method, event["STATUS"], event["SEQUENCE"]) == ("CANCEL", "CANCELLED", 1)
        assert str(event["UID"]) == f"session-{first.pk}@bankermark"


def test_a_session_added_later_is_sent_at_once(
    published: tuple[Yard, Session, Session],
    mailoutbox: list[Any],
    django_capture_on_commit_callbacks: Callbacks,
) -> None:
    yard, _, _ = published
    with django_capture_on_commit_callbacks(execute=True):
        add_session(actor=yard.lead, run=yard.run, plan=plan(5))
    assert set(by_reader(mailoutbox)) == {yard.trainee.email}
    with pytest.raises(Refused, match="published already"):
        publish_calendar(actor=yard.lead, run=yard.run)


def test_what_is_refused_sends_nothing(
    published: tuple[Yard, Session, Session],
    mailoutbox: list[Any],
    django_capture_on_commit_callbacks: Callbacks,
) -> None:
    yard, first, second = published
    clash = plan(3, 8, 9, place=first.place)
    with django_capture_on_commit_callbacks(execute=True), pytest.raises(Refused):
        change_session(actor=yard.lead, session=second, plan=clash)
    assert mailoutbox == []
    assert Session.objects.get(pk=second.pk).sequence == 0
    assert second.starts_at + timedelta(hours=1) == second.ends_at
