"""Links for readers without an account: how long they last, that they die, what is noted."""

import hashlib
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from typing import Any

import pytest
from django.core.exceptions import PermissionDenied
from django.test import Client, RequestFactory
from django.urls import reverse
from django.utils import timezone

from certificates.actions import links as action
from certificates.actions.guesses import LIMIT
from certificates.actions.links import end_of, make_link, network_of, revoke_link
from certificates.models import LinkOpening, Project, ShareLink
from certificates.queries.submittals import live_link
from tests.certificates.crew.submittals.conftest import Works, row_of, signed_in
from training.actions.log import verify_log
from training.errors import Refused
from training.models import LogEntry


def made(works: Works, **fields: Any) -> tuple[ShareLink, str]:
    """Make a link for the clerk of works."""
    values = {"recipient": "Clerk of works", "days": 30, **fields}
    return make_link(actor=works.manager, project=works.project, **values)


def addresses(token: str) -> list[str]:
    """Return all that a link opens."""
    return [
        reverse("shared", args=[token]),
        reverse("shared_pdf", args=[token, 1]),
        reverse("shared_zip", args=[token, 1]),
    ]


def test_the_secret_is_kept_as_a_digest(works: Works) -> None:
    link, token = made(works)
    assert link.token_sha256 == hashlib.sha256(token.encode()).hexdigest()
    assert len(token) >= 40
    assert live_link(token) == link
    assert live_link(token[:-1]) is None
    assert live_link(link.token_sha256) is None
    (entry,) = LogEntry.objects.filter(verb="link.made")
    assert token not in str(entry.data)


@pytest.mark.parametrize(
    ("field", "value"),
    [("recipient", " "), ("recipient", "x" * 201), ("days", 0), ("days", 731), ("days", -1)],
)
def test_what_is_wrong_is_told_at_its_field(works: Works, field: str, value: object) -> None:
    with pytest.raises(Refused) as caught:
        made(works, **{field: value})
    assert caught.value.field == field
    assert ShareLink.objects.count() == 0


# Offsets from the IANA time zone database, from memory: New York is UTC-4 in summer and UTC-5 in
# winter (clocks go back on 1 November 2026); Kiritimati is UTC+14.
@pytest.mark.parametrize(
    ("zone", "now", "days", "end"),
    [
        ("America/New_York", "2026-10-31T12:00", 1, "2026-11-02T05:00"),
        ("America/New_York", "2026-10-30T12:00", 1, "2026-11-01T04:00"),
        ("America/New_York", "2026-03-07T04:30", 1, "2026-03-08T05:00"),
        ("Pacific/Kiritimati", "2026-12-31T11:00", 1, "2027-01-02T10:00"),
        ("UTC", "2028-02-27T23:59", 1, "2028-02-29T00:00"),
        ("UTC", "2028-02-28T00:00", 1, "2028-03-01T00:00"),
    ],
)
def test_it_ends_with_the_last_day_where_the_project_is(
    zone: str, now: str, days: int, end: str
) -> None:
    at = datetime.fromisoformat(now).replace(tzinfo=UTC)
    found = end_of(Project(time_zone=zone), at, days)
    assert found.astimezone(UTC) == datetime.fromisoformat(end).replace(tzinfo=UTC)


def test_it_opens_until_its_end_and_not_after(works: Works) -> None:
    link, token = made(works)
    assert live_link(token, now=link.expires_at - timedelta(seconds=1)) == link
    assert live_link(token, now=link.expires_at) is None


def test_a_revoked_link_is_dead_at_once(works: Works, client: Client) -> None:
    row_of(works)
    link, token = made(works)
    opened = [client.get(address) for address in addresses(token)]
    assert [each.status_code for each in opened] == [200, 200, 200]
    revoke_link(actor=works.manager, link=link)
    dead = [client.get(address) for address in addresses(token)]
    assert [each.status_code for each in dead] == [410, 410, 410]
    assert LinkOpening.objects.count() == 3
    assert works.project.name not in dead[0].content.decode()
    revoke_link(actor=works.manager, link=link)
    assert LogEntry.objects.filter(verb="link.revoked").count() == 1
    assert verify_log() is None


def test_unknown_ended_and_revoked_answer_alike(works: Works, client: Client) -> None:
    revoked, revoked_token = made(works)
    revoke_link(actor=works.manager, link=revoked)
    ended_token = "ended"
    ShareLink.objects.create(
        project=works.project,
        token_sha256=hashlib.sha256(ended_token.encode()).hexdigest(),
        recipient="Clerk",
        created_by=works.manager,
        created_at=timezone.now() - timedelta(days=9),
        expires_at=timezone.now() - timedelta(days=1),
    )
    answers = [
        client.get(reverse("shared", args=[token]))
        for token in ("unknown", ended_token, revoked_token, "x" * 5000)
    ]
    assert {each.status_code for each in answers} == {410}
    assert len({each.content for each in answers}) == 1
    assert LinkOpening.objects.count() == 0


def test_wrong_secrets_are_counted_with_wrong_numbers(works: Works, client: Client) -> None:
    _, token = made(works)
    for number in range(LIMIT):
        assert client.get(reverse("shared", args=[f"guess{number}"])).status_code == 410
    answer = client.get(reverse("shared", args=[token]))
    assert (answer.status_code, answer["Retry-After"]) == (429, "900")
    assert client.get(reverse("check_record", args=["7K3M-9QX2-04VD-HT8B"])).status_code == 429
    other = client.get(reverse("shared", args=[token]), REMOTE_ADDR="198.51.100.9")
    assert other.status_code == 200


def open_ends(answer: Any) -> list[str]:
    """Return by what an answer could be kept, found, or tell its address."""
    wrong = {
        "kept": "no-store" not in answer["Cache-Control"],
        "referrer": answer["Referrer-Policy"] != "no-referrer",
        "listed": "noindex" not in answer["X-Robots-Tag"],
        "cookie": bool(answer.cookies),
    }
    return [name for name, is_wrong in wrong.items() if is_wrong]


def test_no_answer_is_kept_or_sets_a_cookie(works: Works) -> None:
    row_of(works)
    _, token = made(works)
    for client in (Client(), signed_in(works.representative)):
        for address in [*addresses(token), *addresses("unknown")]:
            answer = client.get(address)
            assert open_ends(answer) == [], address
    missing = Client().get(reverse("shared_pdf", args=[token, 7]))
    assert missing.status_code == 404
    assert open_ends(missing) == []


def test_no_secret_comes_into_the_log(
    works: Works, client: Client, caplog: pytest.LogCaptureFixture
) -> None:
    """Django writes the address of each refused request into its log, unless told not to."""
    _, token = made(works)
    for _number in range(LIMIT):
        client.get(reverse("shared", args=["guess"]))
    assert client.get(reverse("shared", args=[token])).status_code == 429
    client.get("/no/such/page/")
    assert "/no/such/page/" in caplog.text
    assert "/shared/" not in caplog.text


def test_every_opening_is_noted_with_its_network(works: Works, client: Client) -> None:
    submittal = row_of(works)
    link, token = made(works)
    for address in addresses(token):
        client.get(address, REMOTE_ADDR="203.0.113.77", HTTP_USER_AGENT="Reader\t1.0  " + "x" * 500)
    rows = list(LinkOpening.objects.order_by("pk"))
    assert [row.what for row in rows] == ["page", "pdf", "zip"]
    assert {row.submittal for row in rows} == {submittal}
    assert {row.address for row in rows} == {"203.0.113.0/24"}
    assert {len(row.agent) for row in rows} == {200}
    assert rows[0].agent.startswith("Reader 1.0 x")
    assert LogEntry.objects.filter(subject_id=str(link.pk)).count() == 1


# RFC 4291, 2.5.5.2 for the mapped form; the documentation ranges of RFC 5737 and RFC 3849.
@pytest.mark.parametrize(
    ("address", "network"),
    [
        ("198.51.100.7", "198.51.100.0/24"),
        ("::ffff:198.51.100.7", "198.51.100.0/24"),
        ("2001:db8:1:2::9", "2001:db8:1::/48"),
        ("::9", "::/48"),
        ("", ""),
    ],
)
def test_an_address_is_cut_to_its_network(
    address: str, network: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(action, "get_client_ip_address", lambda request: address)
    assert network_of(RequestFactory().get("/")) == network


def test_a_request_for_the_head_is_noted_as_such_and_once(works: Works, client: Client) -> None:
    _, token = made(works)
    page = reverse("shared", args=[token])
    answers = [client.head(page, HTTP_USER_AGENT="Previews") for _ in range(3)]
    assert {each.status_code for each in answers} == {200}
    client.get(page, HTTP_USER_AGENT="Previews")
    agents = list(LinkOpening.objects.order_by("pk").values_list("agent", flat=True))
    assert agents == ["Head only: Previews", "Previews"]


@pytest.mark.parametrize("who", ["representative", "mason"])
def test_only_the_contractors_manager_makes_and_revokes(works: Works, who: str) -> None:
    link, _ = made(works)
    person = works.representative if who == "representative" else works.masons[0]
    attempts: list[Callable[[], object]] = [
        lambda: make_link(actor=person, project=works.project, recipient="Clerk"),
        lambda: revoke_link(actor=person, link=link),
    ]
    for attempt in attempts:
        with pytest.raises(PermissionDenied):
            attempt()
    link.refresh_from_db()
    assert link.revoked_at is None
