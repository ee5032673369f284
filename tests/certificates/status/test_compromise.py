"""Giving up a key: which records become doubtful, and issuing them again."""

import time
from collections.abc import Iterator
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest
from django.core.exceptions import PermissionDenied
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from certificates.actions.issue import issue_record
from certificates.actions.status.compromise import declare_compromise, issue_again
from certificates.keys import keystore_of
from certificates.models import Doubt, KeyCompromise, Record
from certificates.queries.keys import doubtful_records, signing_keys
from certificates.queries.standing import standing_of
from certificates.queries.todo import records_to_issue_again
from certificates.signing import verify
from tests.assessments.builders import make_yard
from tests.certificates.builders import decide_attempt, file_of
from tests.certificates.conftest import Issued
from tests.certificates.signing.authority import Office, make_office, opened, write_roots
from tests.certificates.status.builders import REASON, change
from tests.factories import PASSWORD
from training.actions.log import verify_log
from training.errors import Refused
from training.models import LogEntry

LOST = "The backup disk was stolen."


def declare(issued: Issued, **fields: Any) -> KeyCompromise:
    """Give up the key of the record, as its lead, from an hour ago on."""
    return declare_compromise(
        **{
            "actor": issued.yard.lead,
            "provider": issued.yard.provider,
            "certificate_sha256": issued.record.certificate_sha256,
            "doubtful_from": timezone.now() - timedelta(hours=1),
            "reason": LOST,
            "password_checked": True,
            **fields,
        }
    )


def word(record: Record) -> str:
    """Return the word of the record's standing, read anew."""
    return standing_of(Record.objects.get(pk=record.pk)).word


def test_every_record_without_a_time_stamp_becomes_doubtful(issued: Issued) -> None:
    made = declare(issued, doubtful_from=timezone.now())
    assert Doubt.objects.get().stamped_at is None
    assert word(issued.record) == "doubtful"
    log = LogEntry.objects.get(verb="key.compromised")
    assert (log.data["records"], log.data["certificate_sha256"]) == (1, made.certificate_sha256)
    assert verify_log() is None


def test_the_key_is_revoked_and_a_fresh_one_signs(issued: Issued) -> None:
    old = issued.record.certificate_sha256
    declare(issued)
    (listed,) = keystore_of(issued.yard.provider).crls()
    assert len(list(listed)) == 1
    again = issue_again(actor=issued.yard.lead, record=issued.record)
    assert again.certificate_sha256 != old
    keys = signing_keys(issued.yard.provider, timezone.now())
    # Both may be of the same second, so neither comes first.
    assert {(key.sha256, key.signs, key.records) for key in keys} == {
        (again.certificate_sha256, True, 1),
        (old, False, 1),
    }


def test_issued_again_it_says_the_same_and_takes_the_place(issued: Issued) -> None:
    declare(issued)
    old = Record.objects.get(pk=issued.record.pk)
    made = issue_again(actor=issued.yard.lead, record=old)
    other = {"number", "issued_at", "check_url", "replaces"}
    assert {name: value for name, value in made.document.items() if name not in other} == {
        name: value for name, value in old.document.items() if name not in other
    }
    assert (made.replaces, word(made), word(old)) == (old, "current", "replaced")
    keystore = keystore_of(made.provider)
    assert verify(file_of(made), keystore.roots(), crls=keystore.crls()).genuine
    with pytest.raises(Refused, match="took the place"):
        issue_again(actor=issued.yard.lead, record=old)
    with pytest.raises(Refused, match="not doubtful"):
        issue_again(actor=issued.yard.lead, record=made)


@pytest.fixture
def stamping(settings: Any, tmp_path: Path) -> Iterator[Office]:
    """Have every signature stamped by an authority of this machine, at the true time."""
    office = make_office(timezone.now(), name="Quay Time Office")
    office.at = None
    with opened(office) as served:
        settings.STAMP_URL = served.url
        settings.STAMP_ROOTS = write_roots(served, tmp_path)
        yield served


def test_a_time_stamp_before_the_moment_keeps_a_record_good(
    stamping: Office, issued: Issued
) -> None:
    before = issued.record
    # A time-stamp tells whole seconds: the next one lies after all that were made so far.
    moment = timezone.now().replace(microsecond=0) + timedelta(seconds=1)
    time.sleep(max(0.0, (moment - timezone.now()).total_seconds()))
    decision = decide_attempt(issued.yard.attempt(), issued.yard.instructor)
    after = issue_record(actor=issued.yard.lead, decision=decision)
    declare(issued, doubtful_from=moment)
    assert (word(before), word(after)) == ("current", "doubtful")
    doubt = Doubt.objects.get()
    assert doubt.record == after
    assert doubt.stamped_at is not None
    assert doubt.stamped_at >= moment
    # A later look found that the key was not safe before that either.
    declare(issued, doubtful_from=before.issued_at - timedelta(minutes=1))
    assert (word(before), word(after)) == ("doubtful", "doubtful")


def test_a_changed_file_proves_no_time(stamping: Office, issued: Issued) -> None:
    issued.store(file_of(issued.record) + b"\n")
    declare(issued, doubtful_from=timezone.now())
    assert Doubt.objects.get().stamped_at is None


@pytest.mark.parametrize(
    ("fields", "said", "field"),
    [
        ({"password_checked": False}, "Write your password", "password"),
        ({"reason": "Lost."}, "Write why", "reason"),
        ({"certificate_sha256": "0" * 64}, "No signing certificate", None),
    ],
)
def test_what_is_refused(
    issued: Issued, fields: dict[str, Any], said: str, field: str | None
) -> None:
    with pytest.raises(Refused, match=said) as refused:
        declare(issued, **fields)
    assert refused.value.field == field
    assert not KeyCompromise.objects.exists()
    assert keystore_of(issued.yard.provider).signing_certificates()[1:] == []


def test_a_moment_that_has_not_come(issued: Issued) -> None:
    with pytest.raises(Refused, match="has not come") as refused:
        declare(issued, doubtful_from=timezone.now() + timedelta(hours=1))
    assert refused.value.field == "doubtful_from"


def test_only_a_lead_of_that_provider(issued: Issued) -> None:
    for person in (issued.yard.instructor, make_yard().lead):
        with pytest.raises(PermissionDenied):
            declare(issued, actor=person)
        with pytest.raises(PermissionDenied):
            issue_again(actor=person, record=issued.record)


def test_a_suspended_record_is_not_issued_again(issued: Issued) -> None:
    declare(issued)
    change(issued.record, "suspended", issued.yard.lead, reason=REASON)
    assert doubtful_records(issued.yard.provider) == []
    with pytest.raises(Refused, match="not doubtful"):
        issue_again(actor=issued.yard.lead, record=issued.record)


def test_on_the_pages(issued: Issued) -> None:
    client = Client()
    client.force_login(issued.yard.lead, backend="django.contrib.auth.backends.ModelBackend")
    keys = reverse("issuer_keys", args=[issued.yard.provider.pk])
    assert "Signs now" in client.get(keys).content.decode()
    give_up = reverse(
        "key_compromise", args=[issued.yard.provider.pk, issued.record.certificate_sha256]
    )
    sent = {
        "doubtful_from": f"{timezone.localtime() - timedelta(hours=2):%Y-%m-%dT%H:%M}",
        "reason": LOST,
        "password": "not this",
    }
    wrong = client.post(give_up, sent)
    assert wrong.status_code == 422
    assert "This is not your password. Nothing was done." in wrong.content.decode()
    assert LOST in wrong.content.decode()
    assert "not this" not in wrong.content.decode()
    done = client.post(give_up, {**sent, "password": PASSWORD}, follow=True).content.decode()
    assert "The key is given up, and another one signs from now on." in done
    assert issued.record.number in done
    (todo,) = records_to_issue_again(issued.yard.lead, frozenset({"lead"}))
    assert todo.url == keys
    again = client.post(
        reverse("issue_doubtful", args=[issued.yard.provider.pk]), follow=True
    ).content.decode()
    assert "1 record is issued again." in again
    assert "Doubtful records" not in again
    assert list(records_to_issue_again(issued.yard.lead, frozenset({"lead"}))) == []
    assert word(issued.record) == "replaced"


def test_the_public_page_says_it_in_plain_words(issued: Issued) -> None:
    declare(issued)
    page = Client().get(reverse("check_record", args=[issued.record.number])).content.decode()
    assert "may have been in the hands of others" in page
    assert "ask the issuer for a record that is issued again" in page
    assert "Whether this record is genuine is in doubt" in page
    told = Client().get(reverse("check_record_json", args=[issued.record.number])).json()
    assert (told["status"], told["genuine"], told["counts_today"]) == ("doubtful", False, False)
