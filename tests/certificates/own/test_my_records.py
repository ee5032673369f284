"""The own records, links of one's own, and who has looked."""

import hashlib
from datetime import timedelta
from typing import Any

import pytest
from django.core.exceptions import PermissionDenied
from django.db import DatabaseError, IntegrityError, connection, transaction
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone
from pytest_django import DjangoAssertNumQueries

from certificates.actions.own_links import MOST_LINKS, end_own_link, make_own_link
from certificates.models import OwnLink, Record, RecordLook, WrongNumber
from certificates.privacy.erasing import own_links
from certificates.queries.own import live_own_link, looks_at
from tests.assessments.builders import make_yard
from tests.certificates.builders import decide_attempt, met_decision, record_row
from tests.certificates.conftest import Issued
from tests.certificates.status.builders import change
from tests.factories import make_person
from training.digests import secret_digest
from training.errors import Refused
from training.models import Erasure, LogEntry, Person

pytestmark = pytest.mark.django_db
FAR = "203.0.113.77"  # RFC 5737: an address of documentation


def browser(person: Person | None = None) -> Client:
    client = Client(REMOTE_ADDR=FAR)
    if person:
        client.force_login(person, backend="django.contrib.auth.backends.ModelBackend")
    return client


def a_record() -> Record:
    """Return a record that nobody signed."""
    return record_row(met_decision(make_yard()))


def a_link(record: Record, **fields: Any) -> tuple[OwnLink, str]:
    given = {"records": [record], "recipient": "Port Ellery Works", "days": 30, **fields}
    return make_own_link(actor=record.holder, **given)


def ways(record: Record) -> list[str]:
    return sorted(RecordLook.objects.filter(record=record).values_list("way", flat=True))


def test_a_link_opens_the_chosen_records_until_it_is_ended() -> None:
    record = a_record()
    yard = record.decision.attempt.enrolment
    other = record_row(
        decide_attempt(
            yard.attempts.create(
                standard=record.decision.attempt.standard, number=2, started_by=record.issued_by
            ),
            record.issued_by,
        )
    )
    link, token = a_link(record)
    assert link.token_sha256 == secret_digest(token)
    assert token not in str(LogEntry.objects.values_list("data", flat=True))
    page = browser().get(reverse("shown", args=[token]))
    assert page.status_code == 200
    assert record.number in page.text
    assert other.number not in page.text
    assert record.holder.full_name in page.text
    assert page["Referrer-Policy"] == "no-referrer"
    assert "noindex" in page["X-Robots-Tag"]
    assert not page.cookies
    wrong = browser().get(reverse("shown_pdf", args=[token, other.number]))
    assert wrong.status_code == 404
    end_own_link(actor=record.holder, link=link)
    end_own_link(actor=record.holder, link=link)
    gone = browser().get(reverse("shown", args=[token]))
    assert gone.status_code == 410
    assert record.holder.full_name not in gone.text
    assert LogEntry.objects.filter(verb="own_link.ended").count() == 1
    assert WrongNumber.objects.count() == 1


def test_a_link_says_how_a_record_stands_today() -> None:
    record = a_record()
    _, token = a_link(record)
    change(record, "suspended", record.issued_by)
    assert "Suspended" in browser().get(reverse("shown", args=[token])).text


def test_a_link_ends_with_its_last_day() -> None:
    record = a_record()
    link, token = a_link(record, days=1)
    assert link.last_day == timezone.localdate() + timedelta(days=1)
    assert live_own_link(token) == link
    again = OwnLink.objects.create(
        holder=record.holder,
        recipient="Late",
        token_sha256=secret_digest("late"),
        created_at=timezone.now() - timedelta(days=3),
        expires_at=timezone.now() - timedelta(seconds=1),
    )
    again.records.add(record)
    assert live_own_link("late") is None


@pytest.mark.parametrize(
    ("fields", "field"),
    [
        ({"records": []}, "records"),
        ({"recipient": "  "}, "recipient"),
        ({"recipient": "x" * 201}, "recipient"),
        ({"days": 0}, "days"),
        ({"days": 731}, "days"),
    ],
)
def test_a_link_is_refused_at_its_field(fields: dict[str, Any], field: str) -> None:
    with pytest.raises(Refused) as refused:
        a_link(a_record(), **fields)
    assert refused.value.field == field
    assert not OwnLink.objects.exists()


def test_nobody_has_more_links_than_can_be_overseen() -> None:
    record = a_record()
    for _ in range(MOST_LINKS):
        a_link(record)
    with pytest.raises(Refused, match="end some first"):
        a_link(record)


def test_a_link_shows_own_records_alone_and_only_its_maker_ends_it() -> None:
    record, stranger = a_record(), make_person()
    with pytest.raises(PermissionDenied):
        make_own_link(actor=stranger, records=[record], recipient="Me", days=3)
    link, _ = a_link(record)
    with pytest.raises(PermissionDenied):
        end_own_link(actor=stranger, link=link)
    answer = browser(stranger).post(reverse("own_link_end", args=[link.pk]))
    assert answer.status_code == 404
    # The database holds it too, and that a link only ends.
    theirs = OwnLink.objects.create(
        holder=stranger,
        recipient="Me",
        token_sha256=secret_digest("x"),
        expires_at=timezone.now() + timedelta(days=1),
    )
    with (
        pytest.raises(IntegrityError, match="shows the own records"),
        transaction.atomic(),
    ):
        theirs.records.add(record)
    with pytest.raises(DatabaseError, match="only ended"), transaction.atomic():
        OwnLink.objects.filter(pk=link.pk).update(recipient="Another")


def test_the_pdf_comes_as_it_was_issued(issued: Issued) -> None:
    record = issued.record
    _, token = a_link(record)
    for name, digest in (
        ("shown_pdf", record.pdf_sha256),
        ("shown_competency", record.competency_sha256),
    ):
        answer = browser().get(reverse(name, args=[token, record.number]))
        assert answer.status_code == 200
        assert hashlib.sha256(b"".join(answer)).hexdigest() == digest
    issued.store(b"%PDF changed")
    assert browser().get(reverse("shown_pdf", args=[token, record.number])).status_code == 503


def test_every_way_to_look_is_noted_once_a_day_and_never_the_holder(issued: Issued) -> None:
    record, lead = issued.record, issued.yard.lead
    link, token = a_link(record)
    addresses = [
        reverse("record", args=[record.number]),
        reverse("record_pdf", args=[record.number]),
        reverse("shown", args=[token]),
        reverse("shown_pdf", args=[token, record.number]),
        reverse("check_record", args=[record.number]),
        reverse("check_record_json", args=[record.number]),
    ]
    for address in addresses:
        assert browser(record.holder).get(address).status_code == 200
    browser().head(reverse("shown", args=[token]))
    assert ways(record) == []
    for _ in range(2):
        for address in addresses[:2]:
            browser(lead).get(address)
        for address in addresses[2:]:
            browser().get(address)
    assert ways(record) == ["account", "check", "link"]
    by_account, by_link, by_check = (
        RecordLook.objects.get(way=way) for way in ("account", "link", "check")
    )
    assert (by_account.person, by_account.network) == (lead, "")
    assert (by_link.link, by_link.network) == (link, "203.0.113.0/24")
    assert by_check.network == "203.0.113.0/24"
    page = browser(record.holder).get(reverse("my_records")).text
    for told in (lead.full_name, "Port Ellery Works", "203.0.113.0/24"):
        assert told in page
    assert FAR not in page
    with pytest.raises(DatabaseError, match="append-only"), transaction.atomic():
        RecordLook.objects.update(day=timezone.localdate() - timedelta(days=1))


def test_the_page_shows_nobody_elses_records_links_or_looks() -> None:
    mine, theirs = a_record(), a_record()
    a_link(theirs, recipient="Harrow Lane Office")
    browser().get(reverse("check_record", args=[theirs.number]))
    page = browser(mine.holder).get(reverse("my_records")).text
    assert mine.number in page
    assert theirs.number not in page
    assert "Harrow Lane Office" not in page
    assert list(looks_at(mine.holder)) == []
    assert "Nobody but you" in page


def test_the_form_makes_a_link_shown_once_and_keeps_what_was_entered() -> None:
    record = a_record()
    client = browser(record.holder)
    address = reverse("own_link_make")
    wrong = client.post(address, {"recipient": "Port Ellery", "days": "soon"})
    assert wrong.status_code == 422
    for told in ("Port Ellery", "Choose at least one record", "whole number of days"):
        assert told in wrong.text
    other = a_record()
    sent = {"recipient": "Port Ellery", "days": "7", "records": [str(other.pk)]}
    assert client.post(address, sent).status_code == 422
    assert not OwnLink.objects.exists()
    done = client.post(address, {**sent, "records": [str(record.pk)]})
    assert done.status_code == 200
    link = OwnLink.objects.get()
    assert list(link.records.all()) == [record]
    assert "/shown/" in done.text
    later = client.get(reverse("my_records")).text
    assert "Port Ellery" in later
    assert "/shown/" not in later
    client.post(reverse("own_link_end", args=[link.pk]))
    assert "Ended by you" in client.get(reverse("my_records")).text


def test_more_records_links_and_looks_take_no_more_queries(
    django_assert_num_queries: DjangoAssertNumQueries,
) -> None:
    record = a_record()
    a_link(record)
    client = browser(record.holder)
    browser().get(reverse("shown", args=[a_link(record)[1]]))
    address = reverse("my_records")
    client.get(address)
    with CaptureQueriesContext(connection) as few:
        client.get(address)
    at_one = len(few)
    enrolment = record.decision.attempt.enrolment
    for number in (2, 3):
        attempt = enrolment.attempts.create(
            standard=record.decision.attempt.standard, number=number, started_by=record.issued_by
        )
        more = record_row(decide_attempt(attempt, record.issued_by))
        browser().get(reverse("shown", args=[a_link(more)[1]]))
    with django_assert_num_queries(at_one):
        client.get(address)


def test_an_erasure_ends_the_links() -> None:
    record = a_record()
    _, token = a_link(record)
    erasure = Erasure.objects.create(
        person=record.holder,
        pseudonym="Person 7F3A",
        reason="Asked for it by letter.",
        export_sha256="0" * 64,
        by=record.issued_by,
    )
    own_links(erasure, record.holder.full_name)
    assert OwnLink.objects.get().revoked_at is not None
    assert browser().get(reverse("shown", args=[token])).status_code == 410
