"""Losses that devices tell of: kept once, logged, shown to the lead."""

import json
import uuid
from typing import Any

import pytest
from django.core.exceptions import PermissionDenied
from django.db import IntegrityError, transaction
from django.test import Client
from django.urls import reverse

from assessments.actions.site.losses import answer_loss
from assessments.actions.site.packs import token_of
from assessments.models import DeviceLoss, DeviceLossAnswer, Pack
from tests.assessments.builders import Yard, make_yard
from tests.assessments.site.events import DEVICE, make_pack, signed_in
from training.errors import Refused
from training.models import CourseRun, LogEntry

pytestmark = pytest.mark.django_db


@pytest.fixture
def yard() -> Yard:
    return make_yard()


def loss(**changes: Any) -> dict[str, Any]:
    base = {
        "device": DEVICE,
        "epoch": str(uuid.uuid4()),
        "last": 12,
        "found": 0,
        "unsent": 3,
        "found_at": "2026-11-03T16:00:00.000Z",
    }
    return {**base, **changes}


def tell(pack: Pack, sent: object) -> Any:
    return Client(enforce_csrf_checks=True).post(
        reverse("site_loss"),
        sent if isinstance(sent, str) else json.dumps(sent),
        content_type="application/json",
        headers={"Authorization": f"Pack {token_of(pack)}"},
    )


def test_a_loss_is_kept_once_however_often_it_is_told(yard: Yard) -> None:
    pack, sent = make_pack(yard), loss()
    for _ in range(2):
        response = tell(pack, sent)
        assert (response.status_code, response.json()) == (200, {"told": True})
    kept = DeviceLoss.objects.get()
    assert (kept.assessor, kept.last_seq, kept.found_seq, kept.unsent) == (
        yard.instructor,
        12,
        0,
        3,
    )
    assert LogEntry.objects.filter(verb="device.lost").count() == 1


@pytest.mark.parametrize(
    ("sent", "said"),
    [
        ("{", "one JSON object"),
        ("[]", "one JSON object"),
        ("[" * 3000, "one JSON object"),
        (loss(found=12), "Nothing is lost"),
        (loss(unsent=-1), "unsent must be"),
        (loss(last=True), "last must be"),
        (loss(epoch="old"), "epoch is not a UUID"),
        (loss(found_at="yesterday"), "ISO 8601"),
        (loss(place="attic"), "no field place"),
        ({"device": DEVICE}, "no epoch"),
    ],
)
def test_another_shape_is_refused_in_words(yard: Yard, sent: object, said: str) -> None:
    response = tell(make_pack(yard), sent)
    assert response.status_code == 422
    assert said in response.json()["sentence"]
    assert not DeviceLoss.objects.exists()


def test_the_lead_is_told_until_it_is_answered(yard: Yard) -> None:
    def first_page() -> str:
        return signed_in(yard.lead).get(reverse("home")).content.decode()

    assert "a loss at" not in first_page()
    tell(make_pack(yard), loss(unsent=0))
    assert "a loss at" not in first_page(), "all of it had been sent"
    tell(make_pack(yard), loss())
    assert "a loss at" in first_page()
    assert "a loss at" not in signed_in(make_yard().lead).get(reverse("home")).content.decode()
    yard.run.state = CourseRun.State.CLOSED
    yard.run.save()
    assert "a loss at" in first_page(), "closing the run answers nothing"
    kept = DeviceLoss.objects.get(unsent=3)
    answer_loss(actor=yard.instructor, loss=kept, note="The arris was scored again.")
    assert "a loss at" not in first_page()


def test_the_page_says_what_is_lost_and_what_to_do(yard: Yard) -> None:
    tell(make_pack(yard), loss())
    page = signed_in(yard.lead).get(reverse("run_devices", args=[yard.run.pk])).content.decode()
    assert "had stored 12 events and found 0" in page
    assert "3 of them had not been sent" in page
    assert f"Ask {yard.instructor.full_name} what was scored last" in page


def test_an_answer_is_kept_once_with_who_and_when(yard: Yard) -> None:
    tell(make_pack(yard), loss())
    kept = DeviceLoss.objects.get()
    address, client = reverse("device_loss", args=[kept.pk]), signed_in(yard.lead)
    empty = client.post(address, {"note": "  "})
    assert empty.status_code == 422
    assert "Write what was done about it." in empty.content.decode()
    note = "Both criteria were scored again by Tomasz."
    assert client.post(address, {"note": note}).status_code == 302
    answer = DeviceLossAnswer.objects.get()
    assert (answer.loss, answer.by, answer.note) == (kept, yard.lead, note)
    logged = LogEntry.objects.get(verb="device.loss_answered")
    assert (logged.actor, logged.data) == (yard.lead, {"note": note})
    for page in (address, reverse("run_devices", args=[yard.run.pk])):
        shown = client.get(page).content.decode()
        assert note in shown
        assert yard.lead.full_name in shown
        assert "Say what was done" not in shown
    again = client.post(address, {"note": "Something else."})
    assert again.status_code == 422
    assert DeviceLossAnswer.objects.get() == answer


def test_only_who_leads_or_teaches_the_run_answers(yard: Yard) -> None:
    tell(make_pack(yard), loss())
    kept = DeviceLoss.objects.get()
    for person in (yard.trainee, make_yard().lead):
        with pytest.raises(PermissionDenied):
            answer_loss(actor=person, loss=kept, note="Done.")
        assert signed_in(person).get(reverse("device_loss", args=[kept.pk])).status_code == 404
    for note in ("", " ", "a" * 2001, "\0"):
        with pytest.raises(Refused):
            answer_loss(actor=yard.lead, loss=kept, note=note)
    assert not DeviceLossAnswer.objects.exists()


def test_an_answer_only_grows(yard: Yard) -> None:
    tell(make_pack(yard), loss())
    answer = answer_loss(actor=yard.lead, loss=DeviceLoss.objects.get(), note="Scored again.")
    with pytest.raises(IntegrityError, match="append-only"), transaction.atomic():
        DeviceLossAnswer.objects.update(note="Nothing.")
    with pytest.raises(IntegrityError, match="append-only"), transaction.atomic():
        answer.delete()
