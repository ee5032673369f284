"""The calendar of a crew: RFC 5545 by the library's parser, and who may read it."""

import re
from datetime import date, timedelta

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone
from icalendar import Calendar, Component
from pytest_django import DjangoAssertNumQueries

from certificates.actions.feeds import make_feed, revoke_feed
from certificates.models import CalendarFeed, Record
from tests.certificates.crew.builders import (
    confirm,
    course,
    crew_member,
    days_ago,
    firm,
    record_for,
    take_back,
)
from training.models import Organisation, Person

pytestmark = pytest.mark.django_db

NAME = "Ilse, of Vantongeren; the Čtvrtá – " + "long " * 20 + "name"


@pytest.fixture
def crew() -> tuple[Organisation, Person]:
    """Return a contractor and its manager."""
    return firm("Fettle & Daughters")


def held(organisation: Organisation, name: str) -> Record:
    """Return the record of a new mason, issued four months ago and valid for two years."""
    issued = timezone.now() - timedelta(days=120)
    person = crew_member(organisation, name, since=days_ago(400))
    until = days_ago(-610)
    return record_for(person, course(continuity=(6, 30)), issued_at=issued, valid_until=until)


def read(client: Client, token: str) -> bytes:
    """Return the stream that nobody signed in for."""
    client.logout()
    answer = client.get(reverse("crew_feed", args=[token]))
    assert answer.status_code == 200
    assert answer.headers["Content-Type"] == "text/calendar; charset=utf-8"
    for header, part in (
        ("Cache-Control", "no-store"),
        ("Referrer-Policy", "no-referrer"),
        ("X-Robots-Tag", "noindex"),
    ):
        assert part in answer.headers[header]
    return answer.content


def entries(stream: bytes) -> dict[str, Component]:
    """Return the events of a stream by UID."""
    return {str(entry["UID"]): entry for entry in Calendar.from_ical(stream).walk("VEVENT")}


def test_each_record_has_its_last_day_and_its_day_to_confirm_by(
    crew: tuple[Organisation, Person], client: Client
) -> None:
    organisation, manager = crew
    record = held(organisation, NAME)
    program = record.decision.attempt.enrolment.run.program
    _, token = make_feed(actor=manager, organisation=organisation)
    found = entries(read(client, token))
    lapse = found[f"lapse-{record.pk}@bankermark"]
    assert lapse.decoded("DTSTART") == record.valid_until
    assert lapse["DTSTART"].params["VALUE"] == "DATE"
    assert str(lapse["SUMMARY"]) == f"Last day of validity: {NAME}, {program.title}"
    assert str(lapse["DESCRIPTION"]).split("\n") == [NAME, program.title, f"Record {record.number}"]
    confirmation = found[f"confirmation-{record.pk}@bankermark"]
    assert confirmation.decoded("DTSTART") > timezone.localdate()
    assert len(found) == 2
    for entry in found.values():
        # RFC 5545, 3.6.1: what an event has to have; no alarm rings.
        assert {"UID", "DTSTAMP", "DTSTART", "SEQUENCE"} <= set(entry)
        assert entry.subcomponents == []
        assert set(entry) <= {
            "UID", "DTSTAMP", "DTSTART", "SEQUENCE", "SUMMARY", "DESCRIPTION", "TRANSP", "CLASS",
        }  # fmt: skip


def test_lines_are_folded_as_the_standard_asks(
    crew: tuple[Organisation, Person], client: Client
) -> None:
    organisation, manager = crew
    held(organisation, NAME)
    _, token = make_feed(actor=manager, organisation=organisation)
    stream = read(client, token)
    # RFC 5545, 3.1: lines end with CRLF and are at most 75 octets long without it.
    assert stream.endswith(b"\r\n")
    assert not re.search(rb"(?<!\r)\n|\r(?!\n)", stream)
    physical = stream.split(b"\r\n")
    assert max(map(len, physical)) <= 75
    assert any(line.startswith(b" ") for line in physical)
    logical = stream.replace(b"\r\n ", b"").decode().split("\r\n")
    # 3.3.11: comma, semicolon and line break inside a text.
    (summary,) = (line for line in logical if line.startswith("SUMMARY:Last day"))
    assert NAME.replace(",", "\\,").replace(";", "\\;") in summary
    assert logical[0] == "BEGIN:VCALENDAR"
    assert "VERSION:2.0" in logical
    assert [line.split(":")[0] for line in logical].count("PRODID") == 1


def test_a_day_that_moves_keeps_its_uid_and_raises_its_sequence(
    crew: tuple[Organisation, Person], client: Client
) -> None:
    organisation, manager = crew
    record = held(organisation, "Ilse Vantongeren")
    _, token = make_feed(actor=manager, organisation=organisation)
    uid = f"confirmation-{record.pk}@bankermark"
    first = read(client, token)
    assert read(client, token) == first
    given = confirm(record, days_ago(5))
    moved = entries(read(client, token))[uid]
    before = entries(first)[uid]
    assert moved.decoded("DTSTART") > before.decoded("DTSTART")
    assert moved.decoded("DTSTAMP") > before.decoded("DTSTAMP")
    assert (before["SEQUENCE"], moved["SEQUENCE"]) == (0, 1)
    take_back(given)
    back = entries(read(client, token))[uid]
    assert (back.decoded("DTSTART"), back["SEQUENCE"]) == (before.decoded("DTSTART"), 2)
    assert entries(read(client, token))[f"lapse-{record.pk}@bankermark"]["SEQUENCE"] == 0


def test_only_the_crew_of_today_and_what_counts_is_in_it(
    crew: tuple[Organisation, Person], client: Client
) -> None:
    organisation, manager = crew
    stays = held(organisation, "Stays")
    leaves = held(organisation, "Leaves")
    lapsed = record_for(crew_member(organisation), course(), valid_until=date(2026, 11, 11))
    other, _ = firm()
    held(other, "Of another firm")
    leaves.holder.employments.update(until=days_ago(1))
    _, token = make_feed(actor=manager, organisation=organisation)
    text = read(client, token).decode()
    assert stays.number in text
    assert leaves.number not in text
    assert lapsed.number not in text or timezone.localdate() <= date(2026, 11, 11)
    assert "another firm" not in text


def dead(client: Client, token: str) -> str:
    """Return the page of an address that gives nothing."""
    answer = client.get(reverse("crew_feed", args=[token]))
    assert (answer.status_code, answer.headers["Referrer-Policy"]) == (404, "no-referrer")
    assert "Fettle" not in answer.text
    return re.sub(r"nonce-\S+", "", answer.text)


def test_unknown_revoked_and_no_longer_allowed_answer_alike(
    crew: tuple[Organisation, Person], client: Client
) -> None:
    organisation, manager = crew
    unknown = dead(client, "A" * 43)
    feed, token = make_feed(actor=manager, organisation=organisation)
    assert token not in CalendarFeed.objects.get(pk=feed.pk).token_sha256
    read(client, token)
    again, newer = make_feed(actor=manager, organisation=organisation)
    assert dead(client, token) == unknown
    read(client, newer)
    manager.roles.all().delete()
    assert dead(client, newer) == unknown
    manager.roles.create(organisation=organisation, kind="contractor")
    Person.objects.filter(pk=manager.pk).update(is_active=False)
    assert dead(client, newer) == unknown
    Person.objects.filter(pk=manager.pk).update(is_active=True)
    read(client, newer)
    revoke_feed(actor=manager, feed=again)
    assert dead(client, newer) == unknown


def test_the_address_is_shown_once_and_revoked_by_its_maker_alone(
    crew: tuple[Organisation, Person], client: Client
) -> None:
    organisation, manager = crew
    other, stranger = firm()
    client.force_login(manager)
    made = client.post(reverse("crew_feed_make"), {"organisation": organisation.pk})
    match = re.search(r'value="(http\S+/crew/feed/([\w-]{43})\.ics)"', made.text)
    assert match, made.text
    assert "no-store" in made.headers["Cache-Control"]
    page = client.get(reverse("crew")).text
    assert "an address is in force since" in page
    assert match[2] not in page
    for wrong in (other.pk, "", "x", "9" * 40):
        answer = client.post(reverse("crew_feed_make"), {"organisation": wrong})
        assert answer.status_code == 404
    revoke = reverse("crew_feed_revoke", args=[CalendarFeed.objects.get().pk])
    client.force_login(stranger)
    assert client.post(revoke).status_code == 404
    client.force_login(manager)
    assert client.get(revoke).status_code == 405
    assert client.post(revoke).status_code == 302
    assert CalendarFeed.objects.get().revoked_at is not None
    dead(client, match[2])


def test_the_feed_asks_as_often_for_three_as_for_one(
    crew: tuple[Organisation, Person],
    client: Client,
    django_assert_num_queries: DjangoAssertNumQueries,
) -> None:
    organisation, manager = crew
    _, token = make_feed(actor=manager, organisation=organisation)
    for number in (1, 3):
        while organisation.employments.count() < number:
            held(organisation, "Ilse Vantongeren")
        # The feed, its manager's role, the crew, zones, the register, what moved the days.
        with django_assert_num_queries(6):
            assert (
                len(entries(client.get(reverse("crew_feed", args=[token])).content)) == number * 2
            )
