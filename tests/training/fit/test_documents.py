"""Keeping a paper and taking it back: by whom, once, and with the file as it may be kept."""

import uuid
from datetime import date, timedelta
from hashlib import sha256
from io import BytesIO
from typing import Any

import pytest
from django.core.exceptions import PermissionDenied
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import reverse
from django.utils import timezone
from PIL import Image
from PIL.ExifTags import IFD

from tests.assessments.builders import at_once
from tests.assessments.site.pictures import exif, jpeg
from tests.factories import enrol, make_organisation, make_person, make_program, make_role, make_run
from tests.training.fit.builders import ask_for, keep
from training.actions.documents import keep_document, take_back_document
from training.actions.log import verify_log
from training.errors import Refused
from training.models import (
    CourseRun,
    DocumentTakenBack,
    HeldDocument,
    LogEntry,
    Organisation,
    Person,
    Role,
)


class Yard:
    """A provider whose program asks for a mask, with a run, its people, and others."""

    def __init__(self) -> None:
        self.provider: Organisation = make_organisation()
        self.lead = make_role(Role.Kind.LEAD, self.provider)
        self.instructor = make_role(Role.Kind.INSTRUCTOR, self.provider)
        self.other = make_role(Role.Kind.INSTRUCTOR, self.provider)
        program = make_program(self.provider)
        ask_for(program, "mask", title="Respirator fit")
        self.run: CourseRun = make_run(program, instructors=(self.instructor,))
        self.trainee = make_person("Wren Calloway")
        enrol(self.run, self.trainee)

    def form(self, **changes: object) -> dict[str, Any]:
        """Return what the form is sent with."""
        return {
            "document": str(uuid.uuid4()),
            "kind": "mask",
            "title": "Fit test",
            "issuer": "Lime Street School",
            "number": "",
            "issued_on": "2026-01-05",
            "expires_on": "",
            **changes,
        }

    def address(self, person: Person | None = None) -> str:
        """Return where a paper of the trainee is entered."""
        return reverse("document_new", args=[(person or self.trainee).pk])


@pytest.fixture
def yard(db: None) -> Yard:
    return Yard()


def browser(person: Person) -> Client:
    client = Client()
    client.force_login(person, backend="django.contrib.auth.backends.ModelBackend")
    return client


def test_who_keeps_which_paper(yard: Yard) -> None:
    stranger = make_role(Role.Kind.LEAD, make_organisation())
    for actor in (yard.lead, yard.instructor):
        assert keep(actor, yard.trainee, yard.provider, "mask").seen_by == actor
    for actor in (yard.other, yard.trainee, stranger):
        with pytest.raises(PermissionDenied):
            keep(actor, yard.trainee, yard.provider, "mask")
    # An instructor's qualification is the lead's to keep, and nobody's own.
    keep(yard.lead, yard.instructor, yard.provider, "instructor")
    own = make_role(Role.Kind.LEAD, yard.provider)
    Role.objects.create(person=own, organisation=yard.provider, kind=Role.Kind.INSTRUCTOR)
    for actor, person in ((own, own), (yard.instructor, yard.trainee), (yard.other, own)):
        with pytest.raises(PermissionDenied):
            keep(actor, person, yard.provider, "instructor")
    with pytest.raises(PermissionDenied):
        keep(yard.lead, yard.trainee, make_organisation(), "mask")
    assert HeldDocument.objects.count() == 3
    assert verify_log() is None
    row = LogEntry.objects.filter(verb="document.kept").earliest("seq")
    assert row.data["person"] == yard.trainee.pk


def test_what_cannot_be_is_refused_at_its_field(yard: Yard) -> None:
    later = timezone.localdate() + timedelta(days=3)
    changes: list[tuple[str, dict[str, Any]]] = [
        ("kind", {"kind": "helmet"}),
        ("title", {"title": "  "}),
        ("issuer", {"issuer": ""}),
        ("issued_on", {"issued_on": later}),
        ("expires_on", {"expires_on": date(2026, 1, 4)}),
    ]
    for field, change in changes:
        values = {
            "kind": "mask",
            "title": "Fit test",
            "issuer": "School",
            "issued_on": date(2026, 1, 5),
            **change,
        }
        with pytest.raises(Refused) as refused:
            keep_document(actor=yard.lead, person=yard.trainee, provider=yard.provider, **values)
        assert refused.value.field == field
    assert not HeldDocument.objects.exists()


def test_the_form_keeps_the_file_without_its_place_while_another_field_is_mended(
    yard: Yard,
) -> None:
    client, sent = browser(yard.instructor), jpeg(exif=exif({}, gps=True))
    form = yard.form(issuer="", expires_on="2026-01-04")
    form["file"] = SimpleUploadedFile("card.jpg", sent)
    response = client.post(yard.address(), form)
    assert response.status_code == 422
    shown = response.content.decode()
    assert "Write who issued the paper." in shown
    assert "The file that you sent is kept" in shown
    assert 'value="Fit test"' in shown
    assert not HeldDocument.objects.exists()
    again = yard.form(document=form["document"])
    assert client.post(yard.address(), again).status_code == 302
    document = HeldDocument.objects.get()
    with document.file.open("rb") as file:
        kept = file.read()
    assert document.sha256 == sha256(kept).hexdigest()
    with Image.open(BytesIO(kept)) as picture, Image.open(BytesIO(sent)) as before:
        assert picture.tobytes() == before.tobytes()
        assert before.getexif().get_ifd(IFD.GPSInfo)
        assert not picture.getexif().get_ifd(IFD.GPSInfo)
    # Sent once more, it is kept once; with other words under the same id it is refused.
    once_more = {**again, "file": SimpleUploadedFile("card.jpg", sent)}
    assert client.post(yard.address(), once_more).status_code == 302
    other = client.post(yard.address(), {**again, "title": "Another test"})
    assert "kept already, with other words" in other.content.decode()
    assert HeldDocument.objects.count() == 1


@pytest.mark.parametrize(
    ("name", "content", "said"),
    [
        ("card.jpg", b"I was fitted.", "no whole JPEG image"),
        ("card.pdf", b"%PDF-1.7\nbroken off", "no whole PDF"),
        ("card.docx", b"PK", "none of the files that are kept here"),
        ("card.pdf", b"%PDF-" + b"0" * 20 * 1024 * 1024 + b"%%EOF", "20 MB at most"),
    ],
)
def test_a_file_that_is_not_what_it_says_is_refused(
    yard: Yard, name: str, content: bytes, said: str
) -> None:
    form = yard.form(file=SimpleUploadedFile(name, content))
    response = browser(yard.lead).post(yard.address(), form)
    assert response.status_code == 422
    assert said in response.content.decode()
    assert not HeldDocument.objects.exists()


def test_a_file_is_shown_to_who_looks_after_it_and_to_its_owner(yard: Yard) -> None:
    form = yard.form(file=SimpleUploadedFile("card.pdf", b"%PDF-1.7\n...\n%%EOF\n"))
    assert browser(yard.lead).post(yard.address(), form).status_code == 302
    address = reverse("document_file", args=[HeldDocument.objects.get().pk])
    response = browser(yard.trainee).get(address)
    assert response["Content-Type"] == "application/pdf"
    assert response["Content-Disposition"].startswith("attachment")
    assert response["X-Content-Type-Options"] == "nosniff"
    assert "no-store" in response["Cache-Control"]
    assert browser(yard.instructor).get(address).status_code == 200
    assert browser(yard.other).get(address).status_code == 404
    without = keep(yard.lead, yard.trainee, yard.provider, "mask")
    gone = browser(yard.lead).get(reverse("document_file", args=[without.pk]))
    assert gone.status_code == 404


def test_a_paper_is_taken_back_once_with_a_reason(yard: Yard) -> None:
    paper = keep(yard.lead, yard.trainee, yard.provider, "mask")
    for actor in (yard.trainee, yard.other):
        with pytest.raises(PermissionDenied):
            take_back_document(actor=actor, document=paper, reason="Wrong name")
    with pytest.raises(Refused) as refused:
        take_back_document(actor=yard.lead, document=paper, reason=" ")
    assert refused.value.field == "reason"
    address = reverse("document_take_back", args=[paper.pk])
    client = browser(yard.instructor)
    assert "Write why" in client.post(address, {"reason": ""}).content.decode()
    assert client.post(address, {"reason": "Wrong name"}).status_code == 302
    assert (
        "Wrong name"
        in client.get(reverse("person_papers", args=[yard.trainee.pk])).content.decode()
    )
    again = client.post(address, {"reason": "Once more"})
    assert "taken back before" in again.content.decode()
    assert DocumentTakenBack.objects.get().reason == "Wrong name"


@pytest.mark.django_db(transaction=True)
def test_the_same_form_sent_twice_at_one_moment_is_kept_once() -> None:
    yard, number = Yard(), uuid.uuid4()

    def send(_: int) -> HeldDocument:
        return keep_document(
            actor=yard.lead,
            person=yard.trainee,
            provider=yard.provider,
            kind="mask",
            title="Fit test",
            issuer="School",
            issued_on=date(2026, 1, 5),
            document=number,
        )

    first, second = at_once(send)
    assert first == second == HeldDocument.objects.get()
