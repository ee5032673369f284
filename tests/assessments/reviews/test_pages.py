"""The pages of a review: what each side sees, what is kept, what is hidden until it is scored."""

import uuid
from datetime import timedelta
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from assessments.actions.attempts import start_attempt
from assessments.actions.decisions import sign_off
from assessments.actions.observations import record_observation
from assessments.actions.reviews import ask_review
from assessments.models import LoggedEvidence, Photo, Review, ReviewPhoto
from tests.assessments.builders import GOOD, event
from tests.assessments.reviews.builders import answered, asked, decided, given, scored
from tests.assessments.site.pictures import jpeg
from tests.factories import PASSWORD, enrol, make_person, make_role
from training.models import LogNote, Person, Role

pytestmark = pytest.mark.django_db


def browser(person: Person) -> Client:
    client = Client()
    client.force_login(person, backend="django.contrib.auth.backends.ModelBackend")
    return client


def page(client: Client, path: str, status: int = 200) -> str:
    response = client.get(path)
    assert response.status_code == status, response.content.decode()[:500]
    return response.content.decode()


def photo_of(made: Any, **changes: Any) -> Photo:
    values = {
        "id": uuid.uuid4(), "attempt": made.attempt, "subject_kind": "criterion",
        "subject_key": "C1", "assessor": made.yard.instructor, "device": uuid.uuid4(),
        "epoch": uuid.uuid4(), "seq": 1, "sha256": "0" * 64, "size": 1, "width": 80, "height": 60,
        "claimed_at": timezone.now(), "device_zone": "America/New_York",
        "content_digest": "0" * 64,
    }  # fmt: skip
    return Photo.objects.create(**{**values, **changes})


def test_asking_keeps_what_was_entered_until_it_is_mended() -> None:
    made = decided()
    client = browser(made.yard.trainee)
    assert "Ask for a review" in page(client, f"/attempts/{made.attempt.pk}/")
    path = f"/attempts/{made.attempt.pk}/review/"
    assert "within 30 days" in page(client, path)
    key = str(uuid.uuid4())
    sent = {
        "review": key, "reason": "", "photo1-caption": "The sill from above",
        "photo1-file": SimpleUploadedFile("sill.jpg", jpeg(), "image/jpeg"),
    }  # fmt: skip
    answer = client.post(path, sent)
    text = answer.content.decode()
    assert answer.status_code == 422
    assert "Write what should be looked at again" in text
    assert "The sill from above" in text
    assert "Kept: 80 × 60 pixels" in text
    # The photograph need not be sent again.
    mended = {"review": key, "reason": "The arris.", "photo1-caption": "The sill from above"}
    assert client.post(path, mended).status_code == 302
    review = Review.objects.get()
    assert str(review.pk) == key
    photo = ReviewPhoto.objects.get()
    assert photo.caption == "The sill from above"
    assert "The sill from above" in page(client, f"/reviews/{key}/")
    shown = client.get(f"/reviews/{key}/photographs/handed/{photo.pk}/")
    assert shown["Content-Type"] == "image/jpeg"
    assert shown.content.startswith(b"\xff\xd8")
    # Asked once more, the page says why not and where to go.
    assert "under way already" in page(client, path)
    assert client.post(f"/reviews/{key}/take-back/").status_code == 302
    assert "Taken back" in page(client, f"/reviews/{key}/")


def test_a_result_that_can_no_longer_be_reviewed_leads_to_a_complaint() -> None:
    made = decided()
    answered(made, "upheld")
    text = page(browser(made.yard.trainee), f"/attempts/{made.attempt.pk}/review/")
    assert "looked at again already" in text
    assert reverse("complaint_new", args=[made.yard.run.pk]) in text
    assert "<textarea" not in text


def test_the_lead_sees_who_cannot_and_why() -> None:
    made = decided()
    review = asked(made)
    client = browser(made.yard.lead)
    path = f"/reviews/{review.pk}/give/"
    text = page(client, path)
    assert "Signed this attempt off." in text
    assert f'value="{made.reviewer.pk}"' in text
    assert f'value="{made.yard.instructor.pk}"' not in text
    assert client.post(path, {}).status_code == 422
    refused = client.post(path, {"reviewer": made.yard.instructor.pk})
    assert "cannot look at it again now" in refused.content.decode()
    assert client.post(path, {"reviewer": made.reviewer.pk}).status_code == 302
    review.refresh_from_db()
    assert review.reviewer == made.reviewer


def test_where_nobody_can_the_page_says_what_to_do() -> None:
    made = decided()
    review = asked(made)
    instructor = made.yard.instructor
    # The one who signed leads as well, and is alone.
    Role.objects.exclude(person=instructor).delete()
    Role.objects.filter(person=instructor).update(kind=Role.Kind.LEAD)
    client = browser(instructor)
    text = page(client, f"/reviews/{review.pk}/give/")
    assert "Give the instructor" in text
    assert "Signed this attempt off." in text
    assert 'name="reviewer"' not in text
    # Somebody from outside gets the role: then there is one to choose.
    outside = make_role(Role.Kind.INSTRUCTOR, made.yard.provider)
    assert f'value="{outside.pk}"' in page(client, f"/reviews/{review.pk}/give/")


def test_the_reviewer_is_not_shown_what_was_scored_before_having_scored() -> None:
    made = decided(C3={"answer": False})
    review = given(made)
    client = browser(made.reviewer)
    photo = photo_of(made)
    instructor = made.yard.instructor.full_name
    for path in ("", "criteria/C1/", "criteria/C2/", "criteria/C3/", "criteria/C5/", "rest/"):
        text = page(client, f"/reviews/{review.pk}/{path}")
        assert instructor not in text
        assert "Not yet met" not in text
        assert review.reason not in text
    assert "1/8" in page(client, f"/reviews/{review.pk}/criteria/C2/")
    assert "2026" in page(client, f"/reviews/{review.pk}/criteria/C5/")
    assert "did not come from the device" in page(client, f"/reviews/{review.pk}/criteria/C1/")
    assert client.get(f"/reviews/{review.pk}/photographs/scored/{photo.pk}/").status_code == 404
    for path in (f"/reviews/{review.pk}/answer/", f"/attempts/{made.attempt.pk}/"):
        response = client.get(path)
        assert response.status_code in (302, 404)
    # A lead who reviews is led away from the result, too.
    Review.objects.filter(pk=review.pk).update(reviewer=made.yard.lead)
    led = browser(made.yard.lead).get(f"/attempts/{made.attempt.pk}/")
    assert (led.status_code, led["Location"]) == (302, f"/reviews/{review.pk}/")


def test_what_the_site_log_shows_is_given_without_who_wrote_it() -> None:
    made = decided()
    note = LogNote.objects.create(
        run=made.yard.run, at=timezone.now(), text="Dry fit even all round.",
        by=made.yard.instructor,
    )  # fmt: skip
    LoggedEvidence.objects.create(
        attempt=made.attempt, note=note, subject_kind="criterion", subject_key="C1",
        by=made.yard.instructor,
    )  # fmt: skip
    review = given(made)
    text = page(browser(made.reviewer), f"/reviews/{review.pk}/criteria/C1/")
    assert "Dry fit even all round." in text
    assert made.yard.instructor.full_name not in text


def test_scoring_by_the_pages_from_the_first_criterion_to_the_outcome() -> None:
    made = decided(C3={"answer": False})
    review = given(made)
    client = browser(made.reviewer)
    base = f"/reviews/{review.pk}/"

    def post(path: str, status: int = 302, **values: Any) -> str:
        response = client.post(base + path, values)
        assert response.status_code == status, response.content.decode()
        return response.content.decode()

    def one() -> str:
        return str(uuid.uuid4())

    text = post("criteria/C1/", 422, not_shown="yes", note="")
    assert "Write why the evidence does not show it." in text
    text = post("criteria/C1/", 422, observation_id=one(), note="Kept words.")
    assert "Kept words." in text
    post("criteria/C1/", not_shown="yes", note="Too dark.")
    assert "Too dark." in page(client, base + "criteria/C1/")
    post("criteria/C1/", observation_id=one(), level="1", note="")
    post("criteria/C2/", 422, observation_id=one(), given="7", note="")
    post("criteria/C2/", observation_id=one(), given="0", note="")
    post("criteria/C3/", observation_id=one(), answer="yes", note="")
    assert "are still to be scored" in client.post(base + "finish/", follow=True).content.decode()
    post("rest/", note="No photograph.")
    post("finish/")
    text = page(client, base + "answer/")
    assert made.yard.instructor.full_name in text
    assert review.reason in text
    assert "2 criteria came out otherwise." in text
    text = post("answer/", 422, outcome="changed", answer="The photograph shows it.", password="x")
    assert "This is not your password" in text
    assert "The photograph shows it." in text
    post("answer/", outcome="changed", answer="The photograph shows it.", password=PASSWORD)
    review.refresh_from_db()
    assert (review.outcome, review.result and review.result.result) == ("changed", "met")
    # The trainee reads how it came about; the one who decided first as well.
    for person in (made.yard.trainee, made.yard.instructor, made.yard.lead):
        other = browser(person)
        text = page(other, f"/attempts/{made.attempt.pk}/")
        assert "How the result came about" in text
        assert "The photograph shows it." in text
        assert "The two scorings" in page(other, base)


def test_who_scored_learns_of_the_review_with_its_answer() -> None:
    made = decided()
    review = scored(made)
    client = browser(made.yard.instructor)
    page(client, f"/reviews/{review.pk}/", 404)
    text = page(client, f"/attempts/{made.attempt.pk}/")
    assert "under way" in text
    assert review.reason not in text


def test_a_void_attempt_tells_why() -> None:
    made = decided()
    answered(made, "void")
    text = page(browser(made.yard.trainee), f"/attempts/{made.attempt.pk}/")
    assert "Seen on the photographs." in text
    assert "Counts no more." in text


def test_handing_back_by_the_page() -> None:
    made = decided()
    review = given(made)
    client = browser(made.reviewer)
    path = f"/reviews/{review.pk}/hand-back/"
    assert client.post(path, {"reason": ""}).status_code == 422
    assert client.post(path, {"reason": "My cousin."}).status_code == 302
    page(client, f"/reviews/{review.pk}/", 404)


def test_the_list_shows_what_is_to_be_answered_first() -> None:
    made = decided()
    late = asked(made)
    over = decided_again(made)
    Review.objects.filter(pk=over.pk).update(state="taken_back")
    client = browser(made.yard.lead)
    text = page(client, "/reviews/")
    assert text.index(str(late.pk)) < text.index(str(over.pk))
    assert "Overdue" not in text
    # The day after the last one.
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(
            "assessments.views.reviews.asking.timezone.localdate",
            lambda: late.answer_by + timedelta(days=1),
        )
        assert page(client, "/reviews/").count("Overdue") == 1


def decided_again(made: Any) -> Review:
    """Return a review of another trainee of the run."""
    trainee = make_person()
    attempt = start_attempt(actor=made.yard.instructor, enrolment=enrol(made.yard.run, trainee))
    for key, value in GOOD.items():
        record_observation(actor=made.yard.instructor, event=event(attempt, key, value))
    sign_off(actor=made.yard.instructor, attempt=attempt, password_checked=True, note="-")
    attempt.refresh_from_db()
    return ask_review(actor=trainee, attempt=attempt, reason="Again.")


def test_the_list_asks_as_much_for_three_as_for_one() -> None:
    made = decided()
    asked(made)
    client = browser(made.yard.lead)
    with CaptureQueriesContext(connection) as one:
        page(client, "/reviews/")
    decided_again(made)
    decided_again(made)
    with CaptureQueriesContext(connection) as three:
        page(client, "/reviews/")
    assert len(three) == len(one)
