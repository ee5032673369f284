"""The pages of the log: a note with its photographs, filters, who sees what, the day on paper."""

import re
import uuid
from datetime import date, timedelta
from decimal import Decimal
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone
from page import validate_pdf_bytes

from assessments.forms.logged import NoteForm
from assessments.models import PracticalTask, Stage
from assessments.templatetags.logged import temperature
from tests.assessments.builders import Yard, make_yard, score_all
from tests.assessments.site.pictures import exif, jpeg
from tests.certificates.pdf.tools import run_on, text_of
from tests.training.sitelog.builders import batch, curing, during, new_photo, note
from training.models import Consent, LogNote, LogPhoto, Person
from training.photographs.held import FOLDER
from training.queries.sitelog import photo_bytes

pytestmark = pytest.mark.django_db


@pytest.fixture
def yard(db: None) -> Yard:
    """Return a yard whose run is on today, its task with two stages."""
    made = make_yard()
    during(made.run)
    task = PracticalTask.objects.create(program=made.program, title="Dutchman")
    for position, (key, title) in enumerate((("fit", "Dry fit"), ("set", "Setting")), 1):
        Stage.objects.create(task=task, position=position, key=key, title=title)
    return made


def browser(person: Person) -> Client:
    client = Client()
    client.force_login(person)
    return client


def values(**changes: Any) -> dict[str, Any]:
    """Return what the form sends; the site's clock is New York's."""
    now = timezone.now().astimezone(timezone.get_fixed_timezone(-300)) - timedelta(hours=2)
    sent = {"note": str(uuid.uuid4()), "text": "Bedded.", "at": f"{now:%Y-%m-%dT%H:%M}"}
    return {**sent, **changes}


def file(data: bytes, name: str = "photo.jpg") -> SimpleUploadedFile:
    return SimpleUploadedFile(name, data, "image/jpeg")


def test_a_note_is_written_from_the_phone(yard: Yard) -> None:
    page = reverse("run_log_write", args=[yard.run.pk])
    sent = values(
        stage_key="fit",
        grid="c 4",
        weather="Dry",
        air_celsius="54 °F",
        wall_celsius="-1.5 °C",
        **{
            "photo1-file": file(jpeg(exif=exif({}, gps=True))),
            "photo1-caption": "Face of the joint",
            "photo12-file": file(jpeg(90, 70)),
            "photo12-caption": "From afar",
            "photo12-people": "on",
        },
    )
    answer = browser(yard.trainee).post(page, sent)
    assert answer.status_code == 302
    written = LogNote.objects.get()
    assert (written.grid, written.stage_key) == ("C4", "fit")
    # 54 °F = 110/9 °C = 12.2 °C (worked by hand).
    assert (written.air_celsius, written.wall_celsius) == (Decimal("12.2"), Decimal("-1.5"))
    photos = list(written.photos.order_by("position"))
    assert [photo.caption for photo in photos] == ["Face of the joint", "From afar"]
    assert [photo.people for photo in photos] == [False, True]
    assert b"Exif" not in (photo_bytes(photos[0]) or b"Exif")
    shown = browser(yard.instructor).get(reverse("run_log", args=[yard.run.pk])).content.decode()
    for word in ("Face of the joint", "C4", "Dry fit", "12.2 °C (54 °F)", "−1.5 °C (29 °F)"):
        assert word in shown
    assert "People can be recognised" in shown


@pytest.mark.parametrize(
    ("typed", "kept"),
    [("68 F", "20.0"), ("20 °C", "20.0"), ("-40 °F", "-40.0"), ("98.6 °F", "37.0"), ("", None)],
)
def test_temperatures_are_read_with_their_unit(typed: str, kept: str | None) -> None:
    # Fixed points of the two scales: 68 °F = 20 °C, −40 °F = −40 °C, 98.6 °F = 37 °C (NIST SP 811,
    # B.8: t/°C = (t/°F − 32)/1.8).
    form = NoteForm(values(wall_celsius=typed.replace(" F", " degF")), stages=[])
    assert form.is_valid(), form.errors
    assert form.facts().wall_celsius == (None if kept is None else Decimal(kept))


@pytest.mark.parametrize("typed", ["12", "12,5 °C", "warm", "12 mm"])
def test_a_temperature_that_cannot_be_read_is_refused_at_its_field(typed: str) -> None:
    form = NoteForm(values(wall_celsius=typed), stages=[])
    assert not form.is_valid()
    assert "54 °F" in form.errors["wall_celsius"][0]


def test_temperatures_are_told_in_both_units() -> None:
    assert temperature(Decimal("20.0")) == "20.0 °C (68 °F)"
    assert temperature(Decimal("-40.0")) == "−40.0 °C (−40 °F)"


def test_a_bad_photograph_loses_neither_the_others_nor_the_text(yard: Yard) -> None:
    page = reverse("run_log_write", args=[yard.run.pk])
    client = browser(yard.instructor)
    sent = values(
        text="Bedded on full mortar.",
        wall_celsius="11",
        **{
            "photo1-file": file(jpeg(exif=exif({0x0132: "x"}))),
            "photo1-caption": "Good one",
            "photo2-file": file(b"Minutes of the meeting"),
            "photo2-caption": "Bad one",
            "photo3-file": file(jpeg()[:900]),
            "photo3-caption": "Cut one",
            "photo4-file": file(jpeg(95, 60)),
            "photo4-caption": "",
        },
    )
    answer = client.post(page, sent)
    assert answer.status_code == 422
    assert not LogNote.objects.exists()
    rows = answer.context["rows"]
    assert [row.number for row in rows.faulty] == [2, 3, 4]
    assert "no picture at all" in rows.rows[1].errors["file"][0]
    assert "cut short" in rows.rows[2].errors["file"][0]
    assert rows.rows[3].errors["caption"] == ["Say what this photograph shows."]
    shown = answer.content.decode()
    assert "Bedded on full mortar." in shown
    assert "Kept: 80 × 60 pixels" in shown
    assert 'value="Bad one"' in shown
    # Mended: the kept ones are not sent again; the bad ones are cleared and sent anew.
    mended = {
        **{name: value for name, value in sent.items() if not name.endswith("-file")},
        "wall_celsius": "11 °C",
        "photo2-caption": "",
        "photo3-file": file(jpeg(100, 60)),
        "photo4-caption": "Fourth",
    }
    assert client.post(page, mended).status_code == 302
    kept = LogPhoto.objects.order_by("position")
    assert [(photo.caption, photo.width) for photo in kept] == [
        ("Good one", 80),
        ("Cut one", 100),
        ("Fourth", 95),
    ]


def test_what_is_held_goes_with_the_note_and_is_nobody_elses(yard: Yard, settings: Any) -> None:
    page = reverse("run_log_write", args=[yard.run.pk])
    sent = values(at="", **{"photo1-file": file(jpeg()), "photo1-caption": "One"})
    client = browser(yard.instructor)
    assert client.post(page, sent).status_code == 422
    folder = settings.MEDIA_ROOT / FOLDER
    assert len(list(folder.rglob("*.jpg"))) == 1
    del sent["photo1-file"]
    other = browser(yard.trainee).post(page, sent)
    assert other.context["rows"].rows[0].held is None
    assert client.post(page, {**sent, "at": values()["at"]}).status_code == 302
    assert LogPhoto.objects.get().caption == "One"
    assert list(folder.rglob("*.jpg")) == []


def test_a_kept_photograph_can_be_left_out(yard: Yard) -> None:
    page = reverse("run_log_write", args=[yard.run.pk])
    client = browser(yard.instructor)
    sent = values(at="", **{"photo1-file": file(jpeg()), "photo1-caption": "One"})
    client.post(page, sent)
    del sent["photo1-file"]
    sent |= {"at": values()["at"], "photo1-drop": "on", "photo1-caption": ""}
    assert client.post(page, sent).status_code == 302
    assert not LogPhoto.objects.exists()


def test_a_caption_asks_for_its_photograph(yard: Yard) -> None:
    page = reverse("run_log_write", args=[yard.run.pk])
    answer = browser(yard.instructor).post(page, values(**{"photo5-caption": "Lonely"}))
    assert answer.status_code == 422
    assert "clear what stands here" in answer.context["rows"].rows[4].errors["file"][0]
    assert re.search(r"<details[^>]* open>", answer.content.decode())


def test_trainees_without_consent_are_named_to_who_keeps_the_log(yard: Yard) -> None:
    page = reverse("run_log_write", args=[yard.run.pk])
    client = browser(yard.instructor)
    assert client.get(page).context["unasked"] == [yard.trainee]
    assert yard.trainee.full_name in client.get(page).content.decode()
    Consent.objects.create(
        person=yard.trainee,
        provider=yard.provider,
        kind="photographs",
        given=True,
        words="Yes.",
        by=yard.trainee,
    )
    assert client.get(page).context["unasked"] == []
    assert browser(yard.trainee).get(page).context["unasked"] == []


def test_correcting_shows_the_old_note(yard: Yard) -> None:
    old = note(yard.instructor, yard.run, "North side", wall_celsius=Decimal("7.5"))
    client, page = browser(yard.instructor), reverse("log_note_correct", args=[old.pk])
    form = client.get(page).context["form"]
    assert form.initial["wall_celsius"] == "7.5 °C"
    sent = values(note=str(old.pk), text="South side", wall_celsius="7.5 °C")
    assert client.post(page, sent).status_code == 302
    again = client.post(page, {**sent, "text": "East side"})
    assert again.status_code == 422
    assert "corrected meanwhile" in again.content.decode()
    shown = client.get(reverse("log_note", args=[old.pk])).content.decode()
    assert shown.index("South side") < shown.index("What it said before") < shown.index("North")
    listed = client.get(reverse("run_log", args=[yard.run.pk])).content.decode()
    assert "North side" not in listed


def test_photographs_are_added_on_the_page(yard: Yard) -> None:
    written = note(yard.trainee, yard.run)
    client, page = browser(yard.trainee), reverse("log_note_photographs", args=[written.pk])
    empty = client.post(page, {"note": str(uuid.uuid4())})
    assert empty.status_code == 422
    assert "choose at least one" in empty.content.decode()
    sent = {"note": str(uuid.uuid4()), "photo1-file": file(jpeg()), "photo1-caption": "One"}
    assert client.post(page, sent).status_code == 302
    assert written.photos.get().caption == "One"
    assert browser(yard.instructor).get(page).status_code == 403


@pytest.mark.parametrize(
    ("query", "words", "absent"),
    [
        ("stage=fit", ["Fitted"], ["Set in", "B1", "Bedding"]),
        ("grid=c1", ["Fitted"], ["Set in", "B1"]),
        ("grid=string", ["Set in"], ["Fitted"]),
        ("kind=weather", ["Set in"], ["Fitted", "B1"]),
        ("kind=photographs", ["Fitted"], ["Set in", "B1"]),
        ("kind=mortar", ["B1"], ["Fitted", "Bedding"]),
        ("kind=curing", ["Bedding"], ["Fitted", "B1"]),
        ("kind=nonsense&stage=none", ["Fitted", "Set in", "B1", "Bedding"], []),
        ("grid=Z9", ["Nothing in the log fits"], ["Fitted", "Set in"]),
    ],
)
def test_filters(yard: Yard, query: str, words: list[str], absent: list[str]) -> None:
    note(yard.lead, yard.run, "Fitted", stage_key="fit", grid="C1", photos=(new_photo(),))
    note(yard.lead, yard.run, "Set in", stage_key="set", grid="string course C11", weather="Dry")
    batch(yard.lead, yard.run)
    curing(yard.lead, yard.run)
    page = reverse("run_log", args=[yard.run.pk])
    shown = browser(yard.instructor).get(f"{page}?{query}").content.decode()
    for word in words:
        assert word in shown
    for word in absent:
        assert word not in shown


def test_hold_points_stand_on_their_day(yard: Yard) -> None:
    score_all(yard.attempt(), yard.instructor)
    page = reverse("run_log", args=[yard.run.pk])
    shown = browser(yard.instructor).get(f"{page}?kind=hold_points").content.decode()
    assert "Tuesday 3 November 2026" in shown
    assert re.search(rf"Dry fit: 10:15 by {yard.instructor}", shown)
    assert "Hold point accepted" not in browser(yard.trainee).get(page).content.decode()


def test_a_trainee_sees_the_own_notes_alone(yard: Yard) -> None:
    own = note(yard.trainee, yard.run, "My own")
    other = note(yard.instructor, yard.run, "About others", photos=(new_photo(),))
    client = browser(yard.trainee)
    shown = client.get(reverse("run_log", args=[yard.run.pk])).content.decode()
    assert "My own" in shown
    assert "About others" not in shown
    assert client.get(reverse("log_note", args=[own.pk])).status_code == 200
    assert client.get(reverse("log_note", args=[other.pk])).status_code == 404
    photo = reverse("log_photo", args=[other.photos.get().pk])
    assert client.get(photo).status_code == 404
    assert browser(yard.instructor).get(photo).status_code == 200


def test_who_is_not_of_the_run_sees_no_log(yard: Yard) -> None:
    other = make_yard()
    for name in ("run_log", "run_log_write"):
        page = reverse(name, args=[yard.run.pk])
        for person in (other.lead, other.instructor, other.trainee):
            assert browser(person).get(page).status_code == 404
    yard.run.state = "closed"
    yard.run.save()
    page = reverse("run_log_write", args=[yard.run.pk])
    assert browser(yard.trainee).get(page).status_code == 403


def test_the_log_takes_as_many_queries_for_three_as_for_one(yard: Yard) -> None:
    client, page = browser(yard.instructor), reverse("run_log", args=[yard.run.pk])

    def queries() -> int:
        with CaptureQueriesContext(connection) as captured:
            assert client.get(page).status_code == 200
        return len(captured)

    note(yard.lead, yard.run, photos=(new_photo(),))
    queries()  # the first look of a session stores it
    once = queries()
    for _ in range(2):
        note(yard.lead, yard.run, photos=(new_photo(),))
    assert queries() == once


def test_a_day_on_paper(yard: Yard) -> None:
    written = note(yard.lead, yard.run, "Fitted dry", grid="C1", photos=(new_photo("Joint"),))
    batch(yard.lead, yard.run)
    day = written.at.astimezone(timezone.get_fixed_timezone(-300)).date()
    page = reverse("run_log_day", args=[yard.run.pk, "2031-01-01"])
    client = browser(yard.instructor)
    assert client.get(page).status_code == 404
    assert client.get(reverse("run_log_day", args=[yard.run.pk, "monday"])).status_code == 404
    listed = client.get(reverse("run_log", args=[yard.run.pk])).content.decode()
    (address,) = re.findall(r'href="([^"]+/log/[^"]+\.pdf)"', listed)
    assert abs((date.fromisoformat(address[-14:-4]) - day).days) <= 1
    answer = client.get(address)
    assert answer.status_code == 200
    # The judges: Poppler for the text and the picture, page-validation for PDF/UA-1.
    text = text_of(answer.content)
    for word in ("Fitted dry", "Joint", "B1", "Data sheet 7 of the yard"):
        assert word in text
    assert "jpeg" in run_on(answer.content, "pdfimages", "-list", "FILE")
    assert not validate_pdf_bytes(answer.content, profile="ua1").failures
    assert client.get(f"{address}?paper=papyrus").status_code == 400
