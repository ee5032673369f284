"""Photographs as devices send them: announced, sent once, seen by who may see the attempt."""

from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest
from django.core.exceptions import PermissionDenied
from django.db import connection
from django.template.defaultfilters import filesizeformat
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from assessments.actions.acceptance import NotTaken, OtherContent, SeqTaken
from assessments.actions.decisions import sign_off
from assessments.actions.observations import record_observation
from assessments.actions.site.photos import receive_bytes, record_photo
from assessments.models import Photo, PhotoBytes
from assessments.queries.site.photos import photos_of
from tests.assessments.builders import GOOD, Yard, event, make_yard, score_all
from tests.assessments.site.events import make_pack, photo_event, put, scored, signed_in
from tests.assessments.site.pictures import exif, jpeg, png, sha256
from tests.factories import make_organisation, make_person, make_role
from training.errors import Refused
from training.models import LogEntry, Organisation, Role

STONE = jpeg()


@pytest.fixture(autouse=True)
def files(db: None, settings: Any, tmp_path: Path) -> Path:
    settings.MEDIA_ROOT = tmp_path
    return tmp_path


@pytest.fixture
def yard() -> Yard:
    return make_yard()


def test_a_photograph_is_announced_once_and_logged(yard: Yard) -> None:
    pack, sent = make_pack(yard), photo_event(yard.attempt(), STONE)
    photo = record_photo(pack, sent)
    assert record_photo(pack, sent) == photo
    assert (photo.assessor, photo.subject_key, photo.sha256) == (
        yard.instructor,
        "C1",
        sha256(STONE),
    )
    assert LogEntry.objects.filter(verb="photograph.recorded").count() == 1


@pytest.mark.parametrize(
    ("changes", "field"),
    [
        ({"kind": "video"}, "kind"),
        ({"sha256": "A" * 64}, "sha256"),
        ({"sha256": "a" * 64 + "\n"}, "sha256"),
        ({"size": 0}, "size"),
        ({"size": 409_601}, "size"),
        ({"size": True}, "size"),
        ({"width": 6001}, "width"),
        ({"height": "60"}, "height"),
        ({"claimed_at": "2026-11-03T10:14:00"}, "claimed_at"),
        ({"claimed_at": "0001-01-01T00:00:00+14:00"}, "claimed_at"),
        ({"device_time": "noon"}, "device_time"),
        ({"device_zone": "Mars/Olympus"}, "device_zone"),
        ({"subject": {"kind": "criterion", "key": "C9"}}, "subject"),
        ({"subject": {"kind": "hold_point", "key": "set"}}, "subject"),
        ({"standard_digest": "0" * 64}, "standard_digest"),
        ({"schema_version": 2}, "schema_version"),
        ({"place": "44.6 N"}, "place"),
    ],
)
def test_a_wrong_field_is_named(yard: Yard, changes: dict[str, Any], field: str) -> None:
    with pytest.raises(Refused) as refused:
        record_photo(make_pack(yard), photo_event(yard.attempt(), STONE, **changes))
    assert refused.value.field == field
    assert not Photo.objects.exists()


def test_who_no_longer_teaches_the_run_announces_nothing(yard: Yard) -> None:
    pack, attempt = make_pack(yard), yard.attempt()
    yard.run.instructors.clear()
    with pytest.raises(PermissionDenied):
        record_photo(pack, photo_event(attempt, STONE))


def test_an_attempt_of_another_run_is_not_the_packs(yard: Yard) -> None:
    other = make_yard()
    other.run.instructors.add(yard.instructor)
    Role.objects.create(
        person=yard.instructor, organisation=other.provider, kind=Role.Kind.INSTRUCTOR
    )
    with pytest.raises(PermissionDenied, match="taken up"):
        record_photo(make_pack(yard), photo_event(other.attempt(), STONE))


def test_other_content_a_taken_seq_and_a_closed_attempt_each_have_their_reason(yard: Yard) -> None:
    pack, attempt = make_pack(yard), yard.attempt()
    sent = photo_event(attempt, STONE)
    record_photo(pack, sent)
    with pytest.raises(OtherContent):
        record_photo(pack, {**sent, "size": 5})
    again = photo_event(attempt, STONE, epoch=sent["epoch"])
    with pytest.raises(SeqTaken):
        record_photo(pack, again)
    seen = scored(attempt, "C1", {"level": 2})
    record_observation(actor=yard.instructor, event=seen)
    with pytest.raises(SeqTaken):
        record_photo(pack, photo_event(attempt, STONE, epoch=seen["epoch"]))
    attempt.state = "void"
    attempt.save()
    with pytest.raises(NotTaken) as closed:
        record_photo(pack, photo_event(attempt, STONE))
    assert closed.value.reason == "signed_off"


def test_the_same_bytes_are_kept_once(yard: Yard, files: Path) -> None:
    pack = make_pack(yard)
    first, again = put(pack, STONE), put(pack, STONE)
    assert (first.status_code, again.status_code) == (200, 200)
    assert first.json() == again.json() == {"sha256": sha256(STONE), "size": len(STONE)}
    kept = PhotoBytes.objects.get()
    with kept.file.open() as file:
        assert file.read() == STONE
    assert [each.name for each in files.rglob("*.jpg")] == [f"{sha256(STONE)}.jpg"]
    assert LogEntry.objects.filter(verb="photograph.received").count() == 1


@pytest.mark.parametrize(
    ("data", "status", "said"),
    [
        (png(), 422, "not a JPEG"),
        (b"", 422, "not a JPEG"),
        (STONE[:-9], 422, "cut short"),
        (STONE + b"<script>", 422, "after its end"),
        (jpeg(exif=exif({}, gps=True)), 422, "where it was taken"),
        (STONE + b"0" * 409_600, 413, "too large"),
    ],
    ids=["png", "empty", "truncated", "polyglot", "gps", "large"],
)
def test_bytes_that_may_not_be_kept_leave_nothing(
    yard: Yard, files: Path, data: bytes, status: int, said: str
) -> None:
    response = put(make_pack(yard), data)
    assert response.status_code == status
    assert said in response.json()["sentence"]
    assert not PhotoBytes.objects.exists()
    assert not list(files.rglob("*.jpg"))


def test_the_digest_must_be_that_of_the_bytes_even_for_kept_ones(yard: Yard) -> None:
    pack = make_pack(yard)
    put(pack, STONE)
    for digest, said in (("0" * 64, "SHA-256"), (sha256(STONE), "SHA-256"), ("short", "64")):
        response = put(pack, jpeg(), digest)
        assert response.status_code == 422
        assert said in response.json()["sentence"]
    assert PhotoBytes.objects.count() == 1


def test_without_a_token_that_is_good_the_answer_is_401_and_never_a_redirect(yard: Yard) -> None:
    late = make_pack(yard)
    late.taken_at = timezone.now() - timedelta(days=3)
    late.expires_at = timezone.now() - timedelta(days=1)
    late.save()
    closed = make_pack(yard, closed_at=timezone.now())
    for response in (put(late, STONE), put(closed, STONE), put(closed, STONE, token="made up")):
        assert response.status_code == 401
        assert response.json()["sentence"]
    for address in (f"/site/photos/{sha256(STONE)}/", "/site/losses/"):
        for method in ("get", "post", "put", "delete"):
            response = getattr(Client(), method)(address)
            assert response.status_code in (401, 405)
            assert response.json()["sentence"]


def test_a_session_is_no_token(yard: Yard) -> None:
    response = signed_in(yard.lead).put(f"/site/photos/{sha256(STONE)}/", STONE)
    assert response.status_code == 401


def sent_photo(yard: Yard) -> tuple[Any, Photo]:
    attempt, pack = yard.attempt(), make_pack(yard)
    photo = record_photo(pack, photo_event(attempt, STONE))
    receive_bytes(pack, photo.sha256, STONE)
    return attempt, photo


def statuses(yard: Yard, photo: Photo) -> dict[str, int]:
    provider = make_organisation(Organisation.Kind.PROVIDER)
    people = {
        "lead": yard.lead,
        "instructor": yard.instructor,
        "trainee": yard.trainee,
        "another trainee": make_person(),
        "another lead": make_role(Role.Kind.LEAD, provider),
        "idle instructor": make_role(Role.Kind.INSTRUCTOR, yard.provider),
    }
    address = reverse("photo", args=[photo.pk])
    return {who: signed_in(person).get(address).status_code for who, person in people.items()}


def test_who_sees_a_photograph_before_and_after_the_decision(yard: Yard) -> None:
    attempt, photo = sent_photo(yard)
    nobody = {"another trainee": 404, "another lead": 404, "idle instructor": 404}
    before = {"lead": 200, "instructor": 200, "trainee": 404, **nobody}
    assert statuses(yard, photo) == before
    score_all(attempt, yard.instructor)
    sign_off(actor=yard.instructor, attempt=attempt, password_checked=True, note="")
    assert statuses(yard, photo) == {**before, "trainee": 200}


def test_a_photograph_is_sent_as_an_image_that_only_this_browser_keeps(yard: Yard) -> None:
    _, photo = sent_photo(yard)
    response = signed_in(yard.lead).get(reverse("photo", args=[photo.pk]))
    assert response.content == STONE
    assert response["Content-Type"] == "image/jpeg"
    assert response["X-Content-Type-Options"] == "nosniff"
    assert response["Cache-Control"].startswith("private")


def test_a_photograph_says_who_took_it_when_it_came_and_how_large_it_is(yard: Yard) -> None:
    attempt, photo = sent_photo(yard)
    came = PhotoBytes.objects.get().received_at
    [shown] = photos_of(attempt)["criterion", photo.subject_key]
    assert shown.came == came  # type: ignore[attr-defined]
    page = signed_in(yard.lead).get(reverse("attempt_decide", args=[attempt.pk]))
    text = page.content.decode()
    received = timezone.localtime(came).strftime("%b %Y %H:%M")
    size = filesizeformat(photo.size)
    for said in (yard.instructor.full_name, "3 Nov 2026", f"{received}, {size}"):
        assert said in text, said
    assert "Announced" not in text


def test_pages_show_photographs_beside_their_criterion_or_say_that_they_are_to_come(
    yard: Yard,
) -> None:
    attempt, photo = sent_photo(yard)
    pack = photo.assessor.packs.get()
    to_come = photo_event(attempt, jpeg(), key="C3")
    record_photo(pack, to_come)
    hold = {"kind": "hold_point", "key": "fit"}
    record_photo(pack, photo_event(attempt, jpeg(), subject=hold))
    score_all(attempt, yard.instructor)
    for name in ("attempt_decide", "attempt"):
        page = signed_in(yard.instructor).get(reverse(name, args=[attempt.pk])).content.decode()
        before, _, criterion = page.partition('id="criterion-C1"')
        assert "Not yet sent from the device" in before, "the hold point's"
        own, _, after = criterion.partition("</article>")
        assert reverse("photo", args=[photo.pk]) in own
        assert "3 Nov 2026 10:14" in own
        assert yard.instructor.full_name in own
        assert "Not yet sent" not in own
        third = after.partition('id="criterion-C3"')[2].partition("</article>")[0]
        assert "Not yet sent from the device" in third
        if name == "attempt_decide":
            sign_off(actor=yard.instructor, attempt=attempt, password_checked=True, note="")


def test_the_decide_page_asks_as_often_for_one_photograph_as_for_three(
    yard: Yard, django_assert_num_queries: Any
) -> None:
    attempt, _ = sent_photo(yard)
    client = signed_in(yard.instructor)
    address = reverse("attempt_decide", args=[attempt.pk])
    record_observation(actor=yard.instructor, event=event(attempt, "C1", GOOD["C1"]))
    client.get(address)
    with CaptureQueriesContext(connection) as one:
        client.get(address)
    for _ in range(2):
        record_photo(make_pack(yard), photo_event(attempt, jpeg()))
    with django_assert_num_queries(len(one)):
        client.get(address)
