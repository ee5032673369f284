"""A sheet as it was filled in, and the page on which it is keyed in; all invented."""

import re
from datetime import datetime
from io import BytesIO
from typing import Any
from zoneinfo import ZoneInfo

from django.core.files.storage import default_storage
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import reverse
from django.utils import timezone
from PIL import Image

from assessments.models import Attempt, Observation, PaperSheet
from training.models import Person

# What stands on the paper, by the names of the fields; the yard's standard is in builders.py.
WHOLE = {
    "criterion-C1-level": "2",
    "criterion-C2-reading_0": '1/8"',
    "criterion-C2-reading_1": "0.13",
    "hold_point-fit-accepted": "yes",
    "criterion-C3-answer": "yes",
    "criterion-C4-count": "1",
    "criterion-C4-note": "One by the left arris.",
    "criterion-C5-start": "2026-11-03T09:00",
    "criterion-C5-end": "2026-11-03T09:20",
}
VALUES = {
    "C1": {"level": 2},
    "C2": {
        "readings": [
            {"typed": '1/8"', "value": "1/8", "unit": "in"},
            {"typed": "0.13", "value": "0.13", "unit": "in"},
        ]
    },
    "fit": {"accepted": True},
    "C3": {"answer": True},
    "C4": {"count": 1},
    "C5": {"start": "2026-11-03T09:00:00-05:00", "end": "2026-11-03T09:20:00-05:00"},
}


def image(kind: str = "JPEG", size: tuple[int, int] = (60, 80)) -> bytes:
    output = BytesIO()
    Image.new("RGB", size, "white").save(output, kind)
    return output.getvalue()


def upload(name: str = "sheet.jpg", content: bytes | None = None) -> SimpleUploadedFile:
    return SimpleUploadedFile(name, image() if content is None else content)


def browser(person: Person) -> Client:
    client = Client()
    client.force_login(person, backend="django.contrib.auth.backends.ModelBackend")
    return client


def local(moment: datetime) -> str:
    """A moment as the page's field holds it, on the clock of the yard's site, to the second."""
    return moment.astimezone(ZoneInfo("America/New_York")).strftime("%Y-%m-%dT%H:%M:%S")


def hidden(page: str) -> dict[str, str]:
    """What the page's hidden fields hold."""
    found = {}
    for tag in re.findall(r"<input[^>]*type=\"hidden\"[^>]*>", page):
        name, value = re.search(r'name="([^"]*)"', tag), re.search(r'value="([^"]*)"', tag)
        if name and name[1] != "csrfmiddlewaretoken":
            found[name[1]] = value[1] if value else ""
    return found


class Keying:
    """A page for keying in, opened by a person, sent once or more."""

    def __init__(self, person: Person, attempt: Attempt, query: str = "") -> None:
        self.client = browser(person)
        self.address = reverse("attempt_paper", args=[attempt.pk]) + query
        page = self.client.get(self.address)
        assert page.status_code == 200
        self.opened = page.content.decode()
        self.hidden = hidden(self.opened)
        self.scored_at = local(timezone.now())

    def send(self, typed: dict[str, str] = WHOLE, file: Any = "photo", **changes: str) -> Any:
        data: dict[str, Any] = {**self.hidden, "scored_at": self.scored_at, **typed, **changes}
        if file is not None:
            data["file"] = upload() if file == "photo" else file
        return self.client.post(self.address, data)


def stored(attempt: Attempt) -> dict[str, Any]:
    return {row.subject_key: row.value for row in attempt.observations.all()}


def nothing_stored() -> bool:
    return not (Observation.objects.exists() or PaperSheet.objects.exists())


def files() -> list[str]:
    """Every file of a sheet that is kept for good."""
    if not default_storage.exists("paper-sheets"):
        return []
    years = default_storage.listdir("paper-sheets")[0]
    return [name for year in years for name in default_storage.listdir(f"paper-sheets/{year}")[1]]
