"""The photograph or scan of a sheet: kept when it is what it says, refused in words otherwise."""

import pytest
from django.urls import reverse
from PIL import ImageFile

from assessments.models import Attempt, PaperSheet
from tests.assessments.builders import Yard
from tests.assessments.paper.keying import Keying, browser, image, nothing_stored, upload
from tests.assessments.site.pictures import jpeg, without_tables
from training.errors import Refused
from training.scans import MEGABYTE, read_scan

pytestmark = pytest.mark.django_db


@pytest.mark.parametrize(
    ("name", "content", "said"),
    [
        ("sheet.jpg", b"Reading 1: an eighth\n", "no whole JPEG image"),
        ("sheet.jpg", image("PNG"), "no whole JPEG image"),
        ("sheet.jpeg", image(size=(400, 400))[:-900], "no whole JPEG image"),
        ("sheet.png", image(), "no whole PNG image"),
        ("sheet.png", image("PNG")[:-4], "no whole PNG image"),
        ("sheet.pdf", image(), "no whole PDF"),
        ("sheet.pdf", b"%PDF-1.7\nbroken off", "no whole PDF"),
        ("sheet.heic", image(), "none of the files that are kept here"),
        ("sheet", image(), "none of the files that are kept here"),
        ("sheet.jpg", b"", "This file is empty"),
        ("sheet.pdf", b"%PDF-1.7\n" + b"0" * 10 * 1024 * 1024 + b"%%EOF", "10 MB at most"),
    ],
)
def test_a_file_that_is_not_what_it_says(
    yard: Yard, attempt: Attempt, name: str, content: bytes, said: str
) -> None:
    response = Keying(yard.instructor, attempt).send(file=upload(name, content))
    assert response.status_code == 422
    assert said in response.content.decode()
    assert nothing_stored()


@pytest.mark.parametrize(
    ("name", "content", "kind"),
    [
        ("Sheet 1.JPEG", image(), "image/jpeg"),
        ("sheet.png", image("PNG"), "image/png"),
        ("sheet.pdf", b"%PDF-1.7\n...\n%%EOF\n", "application/pdf"),
    ],
)
def test_files_that_are_kept(
    yard: Yard, attempt: Attempt, name: str, content: bytes, kind: str
) -> None:
    assert Keying(yard.instructor, attempt).send(file=upload(name, content)).status_code == 302
    sheet = PaperSheet.objects.get()
    response = browser(yard.instructor).get(reverse("paper_sheet", args=[sheet.pk]))
    assert response["Content-Type"] == kind
    assert response.content == content
    assert response["X-Content-Type-Options"] == "nosniff"


def test_a_picture_with_too_many_points_is_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("training.scans.reading.MOST_PIXELS", 60 * 80 - 1)
    with pytest.raises(Refused, match="60 x 80 points"):
        read_scan(upload(), most=MEGABYTE)


def test_a_damaged_picture_is_refused_though_documents_were_made(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    # As WeasyPrint sets it for the whole process, once a document was made.
    monkeypatch.setattr(ImageFile, "LOAD_TRUNCATED_IMAGES", True)
    with pytest.raises(Refused, match="no whole JPEG image"):
        read_scan(upload(content=without_tables(jpeg())), most=MEGABYTE)
