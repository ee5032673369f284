"""The photographs of an attempt in its record: named by digest, shown, refused when changed."""

from datetime import UTC, datetime
from io import BytesIO
from pathlib import Path
from typing import Any

import pikepdf
import pytest

from assessments.actions.site.photos import receive_bytes, record_photo
from assessments.models import Photo, PhotoBytes
from certificates.actions.issue import issue_record
from certificates.keys import keystore_of
from certificates.models import Record
from certificates.recheck import differences
from certificates.rendering import KINDS
from certificates.signing import verify
from certificates.stored import read_as_issued
from tests.assessments.builders import Yard, make_yard
from tests.assessments.site.events import make_pack, photo_event
from tests.assessments.site.pictures import jpeg, sha256
from tests.certificates.builders import decide_attempt
from training.errors import Refused

pytestmark = pytest.mark.usefixtures("as_printed")

STONE = jpeg()


@pytest.fixture
def yard(db: None, settings: Any, tmp_path: Path) -> Yard:
    settings.MEDIA_ROOT = tmp_path
    return make_yard()


def photographed(yard: Yard, *, sent: bool = True) -> Photo:
    """Return a photograph of the yard's attempt, its bytes with it if ``sent``."""
    pack = make_pack(yard)
    photo = record_photo(pack, photo_event(yard.attempt(), STONE))
    if sent:
        receive_bytes(pack, photo.sha256, STONE)
    return photo


def issue(yard: Yard, photo: Photo) -> Record:
    return issue_record(actor=yard.lead, decision=decide_attempt(photo.attempt, yard.instructor))


def images(pdf: bytes) -> int:
    with pikepdf.open(BytesIO(pdf)) as opened:
        streams = [thing for thing in opened.objects if isinstance(thing, pikepdf.Stream)]
    return sum(1 for stream in streams if stream.get("/Subtype") == "/Image")


def test_a_record_names_and_shows_the_photographs(yard: Yard) -> None:
    photo = photographed(yard)
    record = issue(yard, photo)
    said = dict(record.document["photos"][0])
    claimed = datetime.fromisoformat(said.pop("claimed_at"))
    # The event says 10:14 at an offset of five hours.
    assert claimed.astimezone(UTC) == datetime(2026, 11, 3, 15, 14, tzinfo=UTC)
    criteria = {row["key"]: row for row in photo.attempt.standard.document["criteria"]}
    assert said == {
        "id": str(photo.pk),
        "subject": {"kind": "criterion", "key": "C1"},
        "stage": criteria["C1"]["stage"],
        "sha256": sha256(STONE),
        "width": 80,
        "height": 60,
        "by": yard.instructor.full_name,
    }
    certificate, competency = (read_as_issued(record, kind) for kind in KINDS)
    assert (images(certificate), images(competency)) == (0, 1)
    assert differences(record.document) == []
    roots = keystore_of(yard.provider).roots()
    assert verify(competency, roots).record == record.document


def test_a_photograph_whose_bytes_have_not_come_is_named_all_the_same(yard: Yard) -> None:
    record = issue(yard, photographed(yard, sent=False))
    assert [row["sha256"] for row in record.document["photos"]] == [sha256(STONE)]
    assert images(read_as_issued(record, "competency")) == 0


def test_a_photograph_of_a_hold_point_has_the_stage_of_it(yard: Yard) -> None:
    pack = make_pack(yard)
    subject = {"kind": "hold_point", "key": "fit"}
    photo = record_photo(pack, photo_event(yard.attempt(), STONE, subject=subject))
    (said,) = issue(yard, photo).document["photos"]
    assert (said["subject"], said["stage"]) == (subject, "fit")


def test_an_attempt_without_photographs_has_no_such_member(yard: Yard) -> None:
    decision = decide_attempt(yard.attempt(), yard.instructor)
    assert "photos" not in issue_record(actor=yard.lead, decision=decision).document


@pytest.mark.parametrize(
    ("content", "said"), [(None, "cannot be read from the storage"), (b"other", "was changed")]
)
def test_nothing_is_issued_with_a_photograph_that_was_lost_or_changed(
    yard: Yard, content: bytes | None, said: str
) -> None:
    photo = photographed(yard)
    path = Path(PhotoBytes.objects.get(pk=photo.sha256).file.path)
    path.unlink()
    if content is not None:
        path.write_bytes(content)
    with pytest.raises(Refused, match=f"Nothing was issued. A photograph .* {said}"):
        issue(yard, photo)
    assert not Record.objects.exists()
