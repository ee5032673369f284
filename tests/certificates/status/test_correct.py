"""Correcting a name: a new record in place of the old one, nothing edited."""

from typing import Any

import pytest
from django.core import mail
from django.core.exceptions import PermissionDenied
from django.test import Client
from django.urls import reverse

from certificates.actions.status.correct import correct_record
from certificates.actions.status.guard import steps_of
from certificates.keys import keystore_of
from certificates.models import Record
from certificates.queries.standing import standing_of
from certificates.recheck import differences
from certificates.signing import verify
from tests.certificates.builders import file_of
from tests.certificates.conftest import Issued
from tests.certificates.status.builders import REASON, answer, change, propose, withdraw
from tests.factories import make_role
from training.actions.log import verify_log
from training.errors import Refused
from training.models import LogEntry, Person, Role

RIGHT = "Saoirse Ní Bhriain"


def correct(issued: Issued, **fields: Any) -> Record:
    """Correct the record's name as its lead."""
    return correct_record(
        **{
            "actor": issued.yard.lead,
            "record": issued.record,
            "holder_name": RIGHT,
            "reason": REASON,
            "account": True,
            **fields,
        }
    )


def test_a_new_record_takes_the_place(
    issued: Issued, django_capture_on_commit_callbacks: Any
) -> None:
    old, before = issued.record, issued.yard.trainee.full_name
    with django_capture_on_commit_callbacks(execute=True):
        made = correct(issued, holder_name="  Saoirse   Ni\u0301 Bhriain ")
    assert made.document["holder"] == {"name": RIGHT}
    assert (made.replaces, made.serial, made.valid_until) == (old, 2, old.valid_until)
    assert made.document["valid_until"] == old.document["valid_until"]
    verdict = verify(file_of(made), keystore_of(made.provider).roots())
    assert verdict.genuine, verdict.faults
    assert verdict.record == made.document
    assert differences(made.document) == []
    untouched = Record.objects.get(pk=old.pk)
    assert untouched.document["holder"] == {"name": before}
    assert standing_of(untouched).replaced_by == made.number
    assert standing_of(made).word == "current"
    assert Person.objects.get(pk=made.holder_id).full_name == RIGHT
    log = LogEntry.objects.get(verb="record.corrected")
    assert (log.data["name_before"], log.data["name_after"]) == (before, RIGHT)
    assert LogEntry.objects.get(verb="person.name_corrected").data["before"] == before
    assert verify_log() is None
    (sent,) = mail.outbox
    assert f"It takes the place of record {old.number}." in sent.body
    with pytest.raises(Refused, match=f"Record {made.number} took the place"):
        correct(issued, holder_name="Another Name")


def test_for_this_record_alone(issued: Issued) -> None:
    before = issued.yard.trainee.full_name
    assert correct(issued, account=False).document["holder"] == {"name": RIGHT}
    assert Person.objects.get(pk=issued.yard.trainee.pk).full_name == before
    assert not LogEntry.objects.filter(verb="person.name_corrected").exists()


@pytest.mark.parametrize(
    ("fields", "said", "field"),
    [
        ({"holder_name": " "}, "Write the person's full name", "holder_name"),
        ({"holder_name": "O\u200bwen"}, "invisible character", "holder_name"),
        ({"reason": "Typo"}, "Write why", "reason"),
        ({"seen": 7}, "meanwhile", None),
    ],
)
def test_what_is_refused(
    issued: Issued, fields: dict[str, Any], said: str, field: str | None
) -> None:
    with pytest.raises(Refused, match=said) as refused:
        correct(issued, **fields)
    assert refused.value.field == field
    assert Record.objects.count() == 1


def test_the_same_name(issued: Issued) -> None:
    with pytest.raises(Refused, match="already") as refused:
        correct(issued, holder_name=issued.record.document["holder"]["name"])
    assert refused.value.field == "holder_name"


def test_only_a_lead(issued: Issued) -> None:
    with pytest.raises(PermissionDenied):
        correct(issued, actor=issued.yard.instructor)
    assert Record.objects.count() == 1


def test_not_while_suspended_proposed_or_withdrawn(issued: Issued) -> None:
    lead, second = issued.yard.lead, make_role(Role.Kind.LEAD, issued.yard.provider)
    proposal = propose(issued.record, lead)
    with pytest.raises(Refused, match="waits for its answer"):
        correct(issued)
    answer(proposal, second, confirmed=False, note=REASON)
    change(issued.record, "suspended", lead)
    with pytest.raises(Refused, match="suspended: restore it first"):
        correct(issued)
    withdraw(issued.record, lead, second)
    with pytest.raises(Refused, match="withdrawn"):
        correct(issued)
    assert Record.objects.count() == 1


def test_on_the_page(issued: Issued) -> None:
    client = Client()
    client.force_login(issued.yard.lead, backend="django.contrib.auth.backends.ModelBackend")
    address = reverse("record_correct", args=[issued.record.number])
    page = client.get(address).content.decode()
    assert f'value="{issued.record.document["holder"]["name"]}"' in page
    sent = {"seen": steps_of(issued.record), "holder_name": RIGHT, "reason": "Typo"}
    refused = client.post(address, sent)
    assert refused.status_code == 422
    assert f'value="{RIGHT}"' in refused.content.decode()
    done = client.post(address, {**sent, "reason": REASON}, follow=True)
    made = Record.objects.get(replaces=issued.record)
    assert done.redirect_chain == [(reverse("record", args=[made.number]), 302)]
    assert f"Record of {RIGHT}" in done.content.decode()
    assert Person.objects.get(pk=made.holder_id).full_name != RIGHT  # the box was not ticked
