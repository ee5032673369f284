"""Reading in the file of a device that could not send: by page and by command, exactly once."""

import io
import json
import uuid
from pathlib import Path
from typing import Any

import pytest
from django.core.exceptions import PermissionDenied
from django.core.files.uploadedfile import SimpleUploadedFile
from django.core.management import CommandError, call_command
from django.urls import reverse
from django.utils import timezone

from assessments.actions.site.batches import receive
from assessments.actions.site.imports import MAX_BYTES, import_events
from assessments.models import Observation, Photo, SetAside
from tests.assessments.builders import GOOD, Yard, make_yard
from tests.assessments.site.events import DEVICE, make_pack, photo_event, scored, signed_in
from tests.assessments.site.pictures import jpeg
from tests.factories import make_role
from training.errors import Refused
from training.models import LogEntry, Person, Role

pytestmark = pytest.mark.django_db


@pytest.fixture
def yard() -> Yard:
    return make_yard()


def file_of(yard: Yard, *events: Any, **changes: Any) -> dict[str, Any]:
    base = {
        "schema": "bankermark/events/1",
        "device": DEVICE,
        "assessor": str(yard.instructor.pk),
        "epochs": [],
        "events": list(events),
        "photos": [],
    }
    return {**base, **changes}


def three(yard: Yard) -> list[dict[str, Any]]:
    attempt, epoch = yard.attempt(), str(uuid.uuid4())
    return [
        scored(attempt, "C1", GOOD["C1"], epoch=epoch, seq=1),
        scored(attempt, "C3", GOOD["C3"], epoch=epoch, seq=2),
        photo_event(attempt, jpeg(), epoch=epoch, seq=3),
    ]


def upload(person: Person, document: object) -> Any:
    data = document if isinstance(document, bytes) else json.dumps(document).encode()
    file = SimpleUploadedFile("events.json", data, "application/json")
    return signed_in(person).post(reverse("events_import"), {"file": file})


def results(imported: Any) -> list[str]:
    return [each.result for each in imported.results]


def test_the_same_file_twice_is_stored_once(yard: Yard) -> None:
    pack, events = make_pack(yard), three(yard)
    receive(pack, events[:1])
    document = file_of(yard, *events)
    first = import_events(actor=yard.lead, document=document)
    second = import_events(actor=yard.lead, document=document)
    assert results(first) == ["already", "stored", "stored"]
    assert results(second) == ["already"] * 3
    assert (Observation.objects.count(), Photo.objects.count()) == (2, 1)
    assert {each.assessor for each in Observation.objects.all()} == {yard.instructor}
    rows = LogEntry.objects.filter(verb="events.imported")
    assert [row.actor for row in rows] == [yard.lead] * 2


def test_more_than_a_batch_keeps_its_order(yard: Yard) -> None:
    make_pack(yard)
    attempt, epoch = yard.attempt(), str(uuid.uuid4())
    events: list[dict[str, Any]] = []
    for number in range(503):
        replaces = events[-1]["id"] if events else None
        value = {"level": number % 3}
        events.append(scored(attempt, "C1", value, epoch=epoch, seq=number + 1, replaces=replaces))
    imported = import_events(actor=yard.lead, document=file_of(yard, *events))
    assert imported.counts == {"stored": 503}


def test_a_closed_or_expired_pack_is_no_hindrance(yard: Yard) -> None:
    pack = make_pack(yard, closed_at=timezone.now())
    pack.taken_at, pack.expires_at = pack.taken_at.replace(year=2020), pack.taken_at
    pack.save()
    imported = import_events(actor=yard.lead, document=file_of(yard, *three(yard)))
    assert results(imported) == ["stored"] * 3


def test_events_of_two_runs_go_to_their_own_packs(yard: Yard) -> None:
    other = make_yard()
    Role.objects.create(
        person=yard.instructor, organisation=other.provider, kind=Role.Kind.INSTRUCTOR
    )
    other.run.instructors.add(yard.instructor)
    make_pack(yard)
    make_pack(other, yard.instructor)
    events = [*three(yard), *three(other), {"id": "neither"}]
    document = file_of(yard, *events)
    with pytest.raises(PermissionDenied):
        import_events(actor=yard.lead, document=document)
    assert not Observation.objects.exists()
    imported = import_events(actor=yard.instructor, document=document)
    assert results(imported) == ["stored"] * 6 + ["aside"]
    assert [each.id for each in imported.results] == [each["id"] for each in events]


def test_without_an_assessor_the_only_one_of_the_device_is_meant(yard: Yard) -> None:
    make_pack(yard)
    document = file_of(yard, *three(yard))
    del document["assessor"]
    assert import_events(actor=yard.lead, document=document).assessor == yard.instructor
    make_pack(yard, yard.lead)
    with pytest.raises(Refused, match="Several people"):
        import_events(actor=yard.lead, document=document)


def test_an_instructor_reads_in_the_own_file_only(yard: Yard) -> None:
    make_pack(yard)
    events = three(yard)
    colleague = make_role(Role.Kind.INSTRUCTOR, yard.provider)
    yard.run.instructors.add(colleague)
    assert upload(colleague, file_of(yard, *events)).status_code == 403
    assert not Observation.objects.exists()
    assert upload(yard.instructor, file_of(yard, *events)).status_code == 200
    assert Observation.objects.count() == 2


def test_the_page_tells_what_became_of_each_event(yard: Yard) -> None:
    make_pack(yard)
    events = three(yard)
    events[1]["value"] = {"answer": "perhaps"}
    response = upload(yard.lead, file_of(yard, *events))
    page = response.content.decode()
    row = SetAside.objects.get()
    assert response.context["imported"].counts == {"stored": 2, "aside": 1}
    assert row.sentence in response.context["imported"].results[1].sentence
    assert page.count("Set aside</td>") == 1


@pytest.mark.parametrize(
    ("document", "said"),
    [
        (b"", "not JSON"),
        (b"\xff\xfe", "not JSON"),
        (b"[" * 100_000, "not JSON"),
        (b"[]", "not of the form"),
        (b'{"schema": "bankermark/events/2"}', "not of the form"),
        (b" " * (MAX_BYTES + 1), "5 MB at most"),
        ({"schema": "bankermark/events/1", "events": []}, "no device"),
        ({"schema": "bankermark/events/1", "device": DEVICE, "events": []}, "no events"),
        ({"schema": "bankermark/events/1", "device": 5, "events": [{}]}, "not a UUID"),
        ({"schema": "bankermark/events/1", "device": DEVICE, "events": [1], "x": 1}, "no field x"),
        ({"schema": "bankermark/events/1", "device": DEVICE, "events": [1]}, "Nothing was taken"),
        (
            {"schema": "bankermark/events/1", "device": DEVICE, "events": [1], "assessor": "²"},
            "not the id of a person",
        ),
    ],
    ids=lambda each: each if isinstance(each, str) else "",
)
def test_another_file_is_refused_at_its_field(yard: Yard, document: object, said: str) -> None:
    response = upload(yard.lead, document)
    assert response.status_code == 422
    assert said in str(response.context["form"].errors["file"])


def test_the_command_prints_what_it_did(yard: Yard, tmp_path: Path) -> None:
    make_pack(yard)
    events = three(yard)
    events[1]["value"] = {"answer": "perhaps"}
    path = tmp_path / "events.json"
    path.write_text(json.dumps(file_of(yard, *events)))
    told = io.StringIO()
    call_command("import_events", path, "--as", yard.lead.email, stdout=told)
    assert "Set aside: event 2: " in told.getvalue()
    assert "2 stored, 0 already there, 1 set aside." in told.getvalue()


@pytest.mark.parametrize(
    ("fault", "said"),
    [
        ("nobody", "Nobody signs in as"),
        ("no file", "cannot be read"),
        ("no json", "not JSON"),
        ("no permission", "A training lead reads in"),
    ],
)
def test_the_command_says_what_is_wrong(yard: Yard, tmp_path: Path, fault: str, said: str) -> None:
    make_pack(yard)
    path, email = tmp_path / "events.json", yard.lead.email
    path.write_text("{" if fault == "no json" else json.dumps(file_of(yard, *three(yard))))
    if fault == "nobody":
        email = "nobody@example.org"
    if fault == "no permission":
        email = make_yard().lead.email
    if fault == "no file":
        path.unlink()
    with pytest.raises(CommandError, match=said):
        call_command("import_events", path, "--as", email)
    assert not Observation.objects.exists()
