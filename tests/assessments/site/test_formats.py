"""The published forms of what devices exchange: each example is sent to the real address."""

import json
import re
import uuid
from pathlib import Path
from typing import Any

import pytest
from django.conf import settings
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse

from assessments.actions import acceptance
from assessments.actions.events import FIELDS as OBSERVATION_FIELDS
from assessments.actions.site import losses, pace, photo_event
from assessments.actions.site.imports import FIELDS as FILE_FIELDS
from assessments.models import DeviceLoss, Observation, Photo
from assessments.queries.site.pack_document import pack_document
from tests.assessments.builders import make_yard
from tests.assessments.site.builders import Device, take_up
from tests.assessments.site.events import signed_in as desk
from tests.assessments.site.test_api import post, send, signed_in
from tests.assessments.site.test_losses import tell

FORMATS = (Path(settings.BASE_DIR) / "assessments/actions/site/FORMATS.md").read_text("utf-8")
TEXTS = dict(re.findall(r"^```json (\w+)\n(.*?)^```$", FORMATS, re.MULTILINE | re.DOTALL))
ATTEMPT, DEVICE = "11111111-1111-4111-8111-111111111111", "22222222-2222-4222-8222-222222222222"
RUN, STANDARD = "66666666-6666-4666-8666-666666666666", "4" * 64


def example(name: str, device: Device) -> Any:
    """Return an example with the ids of things that there are."""
    there = {
        ATTEMPT: str(device.attempt.pk),
        DEVICE: str(device.pack.device),
        STANDARD: device.attempt.standard.digest,
        RUN: str(device.yard.run.pk),
        '"7"': f'"{device.yard.instructor.pk}"',
    }
    text = TEXTS[name]
    for written, real in there.items():
        text = text.replace(written, real)
    return json.loads(text)


def table(heading: str) -> set[str]:
    """Return the fields that the first table below a heading names."""
    part = FORMATS.partition(f"## {heading}")[2].partition("| field |")[2].partition("\n\n")[0]
    names = [row.split("|")[1] for row in part.splitlines()[2:]]
    return {name for cell in names for name in re.findall(r"`(\w+)`", cell)}


def test_every_example_is_used() -> None:
    used = {"observation", "photograph", "answer", "loss", "file", "take", "trainee"}
    assert set(TEXTS) == used


@pytest.mark.parametrize(
    ("heading", "name", "fields"),
    [
        ("Observation", "observation", OBSERVATION_FIELDS),
        ("Photograph", "photograph", photo_event.FIELDS),
        ("Loss", "loss", losses.FIELDS),
        ("File of a device", "file", FILE_FIELDS),
    ],
)
def test_tables_and_examples_have_the_fields_that_are_read(
    heading: str, name: str, fields: Any
) -> None:
    assert table(heading) == set(fields)
    assert set(json.loads(TEXTS[name])) == set(fields)


def test_reasons_and_limits_are_those_of_the_code() -> None:
    said = FORMATS.partition("Reasons: ")[2].partition(". A device")[0]
    codes = {
        value
        for name, value in vars(acceptance).items()
        if name.isupper() and isinstance(value, str) and name == value.upper()
    }
    assert set(re.findall(r"`(\w+)`", said)) == codes
    most = [pace.MOST[kind] for kind in (pace.BATCHES, pace.PHOTOGRAPHS, pace.LOSSES)]
    assert "more than {} batches, {} photographs or {} losses".format(*most) in FORMATS


@pytest.mark.django_db
def test_the_batch_is_taken_in_and_answered_as_written() -> None:
    device = take_up()
    events = [example("observation", device), example("photograph", device)]
    response = send(device, events)
    assert response.json() == example("answer", device)
    assert str(Observation.objects.get().pk) == events[0]["id"]
    assert str(Photo.objects.get().pk) == events[1]["id"]
    refused = send(device, [{}]).json()["results"][0]
    assert set(refused) == table("Batch and its answer")


@pytest.mark.django_db
def test_the_loss_and_the_file_are_taken_in() -> None:
    device = take_up()
    assert tell(device.pack, example("loss", device)).json() == {"told": True}
    assert DeviceLoss.objects.get().last_seq == 12
    data = json.dumps(example("file", device)).encode()
    upload = SimpleUploadedFile("events.json", data, "application/json")
    page = desk(device.yard.lead).post(reverse("events_import"), {"file": upload})
    assert page.status_code == 200
    assert Observation.objects.get().value == {"answer": True}


@pytest.mark.django_db
def test_the_pack_has_the_fields_that_are_written() -> None:
    device = take_up(make_yard())
    send(device, [example("observation", device)])
    asked = example("take", device)
    response = post(signed_in(device.yard.instructor), reverse("site_packs"), asked)
    document = response.json()
    assert set(document) == table("Pack") == set(pack_document(device.pack))
    assert uuid.UUID(document["id"]) == device.pack.pk
    written = example("trainee", device)
    [found] = document["trainees"]
    assert {**found, "enrolment": written["enrolment"], "name": written["name"]} == written
