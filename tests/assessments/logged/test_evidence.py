"""A note of the log as evidence: entered once, shown beside what it shows, never after sign-off."""

from datetime import timedelta

import pytest
from django.core.exceptions import PermissionDenied
from django.db import DatabaseError, connection, transaction
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from assessments.actions.decisions import sign_off
from assessments.actions.logged import show_as_evidence
from assessments.models import Attempt, LoggedEvidence
from assessments.queries.logged import hold_points_of, logged_of
from tests.assessments.builders import Yard, make_yard, score_all
from tests.factories import enrol, make_person
from tests.training.sitelog.builders import during, new_photo, note
from training.actions.sitelog import NoteFacts, correct_note
from training.errors import Refused
from training.models import LogPhoto, Person

pytestmark = pytest.mark.django_db
C1, FIT = ("criterion", "C1"), ("hold_point", "fit")


@pytest.fixture
def yard(db: None) -> Yard:
    """Return a yard whose run is on today."""
    made = make_yard()
    during(made.run)
    return made


def browser(person: Person) -> Client:
    client = Client()
    client.force_login(person)
    return client


def signed(yard: Yard, attempt: Attempt) -> Attempt:
    score_all(attempt, yard.instructor)
    sign_off(actor=yard.instructor, attempt=attempt, password_checked=True)
    attempt.refresh_from_db()
    return attempt


def test_a_note_stands_beside_what_it_shows(yard: Yard) -> None:
    attempt = yard.attempt()
    written = note(yard.instructor, yard.run, "Rocks a little", photos=(new_photo("Dry fit"),))
    rows = show_as_evidence(
        actor=yard.instructor, note=written, attempt=attempt, subjects=[C1, FIT, C1]
    )
    assert [(row.subject_kind, row.subject_key) for row in rows] == [C1, FIT]
    again = show_as_evidence(actor=yard.lead, note=written, attempt=attempt, subjects=[C1])
    assert again == rows[:1]
    assert LoggedEvidence.objects.count() == 2
    found = logged_of(attempt)
    assert set(found) == {C1, FIT}
    assert found[C1][0].photos == list(LogPhoto.objects.all())
    decide = browser(yard.instructor).get(reverse("attempt_decide", args=[attempt.pk]))
    (criterion,) = [
        row
        for stage in decide.context["report"].stages
        for row in stage.criteria
        if row.criterion["key"] == "C1"
    ]
    assert [shown.note for shown in criterion.logged] == [written]
    shown = decide.content.decode()
    assert shown.count("Rocks a little") == 2
    assert 'alt="Dry fit"' in shown
    assert LogPhoto.objects.count() == 1


def test_the_trainee_sees_it_once_the_attempt_is_decided(yard: Yard) -> None:
    attempt = yard.attempt()
    written = note(yard.instructor, yard.run, "Rocks a little", photos=(new_photo("Dry fit"),))
    other = note(yard.instructor, yard.run, "Of others", photos=(new_photo("Another"),))
    show_as_evidence(actor=yard.instructor, note=written, attempt=attempt, subjects=[C1])
    photo = reverse("log_photo", args=[written.photos.get().pk])
    client = browser(yard.trainee)
    assert (
        "Rocks a little" not in client.get(reverse("attempt", args=[attempt.pk])).content.decode()
    )
    assert client.get(photo).status_code == 404
    signed(yard, attempt)
    assert "Rocks a little" in client.get(reverse("attempt", args=[attempt.pk])).content.decode()
    answer = client.get(photo)
    assert answer.status_code == 200
    assert answer["X-Content-Type-Options"] == "nosniff"
    assert "no-store" in answer["Cache-Control"]
    assert answer["Content-Type"] == "image/jpeg"
    assert client.get(reverse("log_photo", args=[other.photos.get().pk])).status_code == 404
    fellow = make_person()
    enrol(yard.run, fellow)
    assert browser(fellow).get(photo).status_code == 404


def test_nothing_is_added_after_sign_off(yard: Yard) -> None:
    attempt = yard.attempt()
    written = note(yard.instructor, yard.run)
    signed(yard, attempt)
    with pytest.raises(Refused, match="signed off") as refused:
        show_as_evidence(actor=yard.instructor, note=written, attempt=attempt, subjects=[C1])
    assert refused.value.field == "attempt"
    assert not LoggedEvidence.objects.exists()


def test_a_note_of_another_run_or_a_corrected_one_shows_nothing(yard: Yard) -> None:
    attempt, other = yard.attempt(), make_yard()
    during(other.run)
    with pytest.raises(Refused, match="of another run"):
        show_as_evidence(
            actor=yard.instructor,
            note=note(other.instructor, other.run),
            attempt=attempt,
            subjects=[C1],
        )
    old = note(yard.instructor, yard.run)
    correct_note(actor=yard.instructor, note=old, facts=NoteFacts(at=old.at, text="Other"))
    with pytest.raises(Refused, match="corrected meanwhile"):
        show_as_evidence(actor=yard.instructor, note=old, attempt=attempt, subjects=[C1])


@pytest.mark.parametrize("subjects", [[], [("criterion", "C9")], [("hold_point", "set")]])
def test_a_subject_that_the_standard_lacks_is_refused(
    yard: Yard, subjects: list[tuple[str, str]]
) -> None:
    with pytest.raises(Refused) as refused:
        show_as_evidence(
            actor=yard.instructor,
            note=note(yard.instructor, yard.run),
            attempt=yard.attempt(),
            subjects=subjects,
        )
    assert refused.value.field == "subjects"


def test_only_who_assesses_says_what_a_note_shows(yard: Yard) -> None:
    attempt, written = yard.attempt(), note(yard.trainee, yard.run)
    for actor in (yard.trainee, make_yard().instructor, make_person()):
        with pytest.raises(PermissionDenied):
            show_as_evidence(actor=actor, note=written, attempt=attempt, subjects=[C1])


def test_what_was_shown_stays_as_it_was_beside_its_correction(yard: Yard) -> None:
    attempt = yard.attempt()
    old = note(yard.instructor, yard.run, "North side", photos=(new_photo(),))
    show_as_evidence(actor=yard.instructor, note=old, attempt=attempt, subjects=[C1])
    new = correct_note(
        actor=yard.instructor, note=old, facts=NoteFacts(at=old.at, text="South side")
    )
    (shown,) = logged_of(attempt)[C1]
    assert (shown.note, shown.corrected) == (old, new)
    assert len(shown.photos) == 1
    page = browser(yard.instructor).get(reverse("attempt_decide", args=[attempt.pk]))
    assert "North side" in page.content.decode()
    assert "South side" in page.content.decode()


def test_the_database_lets_evidence_only_grow(yard: Yard) -> None:
    attempt, written = yard.attempt(), note(yard.instructor, yard.run)
    show_as_evidence(actor=yard.instructor, note=written, attempt=attempt, subjects=[C1])
    with pytest.raises(DatabaseError, match="append-only"), transaction.atomic():
        LoggedEvidence.objects.all().delete()


def test_hold_points_are_told_with_whom_and_when(yard: Yard) -> None:
    attempt = yard.attempt()
    score_all(attempt, yard.instructor)
    (hold,) = hold_points_of(yard.run)
    assert (hold.title, hold.by, hold.attempt) == ("Dry fit", yard.instructor, attempt)
    assert hold.at.isoformat() == "2026-11-03T15:15:00+00:00"  # as the device said it
    assert hold_points_of(yard.run, yard.instructor) == [hold]
    assert hold_points_of(yard.run, yard.trainee) == []
    sign_off(actor=yard.instructor, attempt=attempt, password_checked=True)
    (own,) = hold_points_of(yard.run, yard.trainee)
    assert own.attempt == attempt


def test_a_hold_point_that_was_not_accepted_is_not_told(yard: Yard) -> None:
    score_all(yard.attempt(), yard.instructor, fit={"accepted": False}, C3=None, C4=None, C5=None)
    assert hold_points_of(yard.run) == []


def test_evidence_takes_as_many_queries_for_three_as_for_one(yard: Yard) -> None:
    attempt = yard.attempt()

    def one() -> None:
        written = note(yard.instructor, yard.run, photos=(new_photo(),))
        show_as_evidence(actor=yard.instructor, note=written, attempt=attempt, subjects=[C1])

    one()
    with CaptureQueriesContext(connection) as first:
        logged_of(attempt)
    one()
    one()
    with CaptureQueriesContext(connection) as third:
        assert len(logged_of(attempt)[C1]) == 3
    assert len(first) == len(third) == 3


def test_choosing_on_the_page(yard: Yard) -> None:
    attempt = yard.attempt()
    written = note(yard.instructor, yard.run, at=timezone.now() - timedelta(minutes=5))
    client, page = browser(yard.instructor), reverse("log_note_shows", args=[written.pk])
    assert f"?attempt={attempt.pk}" in client.get(page).content.decode()
    address = f"{page}?attempt={attempt.pk}"
    assert "Hold point: Dry fit" in client.get(address).content.decode()
    refused = client.post(address, {})
    assert refused.status_code == 422
    assert "subjects" in refused.context["form"].errors
    assert client.post(address, {"subjects": ["criterion:C1"]}).status_code == 302
    assert LoggedEvidence.objects.get().subject_key == "C1"
    read = client.get(reverse("log_note", args=[written.pk])).content.decode()
    assert "Criterion C1" in read
    assert client.get(f"{page}?attempt=none").status_code == 404
    assert browser(yard.trainee).get(page).status_code == 404
