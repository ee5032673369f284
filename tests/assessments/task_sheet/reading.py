"""Programs of the fixtures, sealed, and their sheets as people see them."""

from io import BytesIO
from pathlib import Path
from typing import Any

import pikepdf
from django.conf import settings
from django.test import Client
from django.urls import reverse

from assessments.actions.programs import load_program
from assessments.actions.sealing import seal_standard
from assessments.models import SealedStandard
from training.models import Person

PROGRAMS: Path = settings.BASE_DIR / "fixtures" / "programs"


def shipped(name: str, lead: Person) -> SealedStandard:
    """A program of the fixtures, loaded and sealed by ``lead``."""
    source = PROGRAMS / f"{name}.yaml"
    program = load_program(
        actor=lead,
        provider=lead.roles.get().organisation,
        source=source.read_bytes(),
        filename=source.name,
    )
    return seal_standard(actor=lead, program=program)


def browser(person: Person) -> Client:
    client = Client()
    client.force_login(person, backend="django.contrib.auth.backends.ModelBackend")
    return client


def address(standard: SealedStandard, name: str = "task_sheet", /, **query: Any) -> str:
    asked = "&".join(f"{key}={value}" for key, value in query.items())
    return f"{reverse(name, args=[standard.pk])}?{asked}"


def see(person: Person, standard: SealedStandard, **query: object) -> Any:
    return browser(person).get(address(standard, **query))


def pdf_of(person: Person, standard: SealedStandard, **query: object) -> bytes:
    response = browser(person).get(address(standard, "task_sheet_pdf", **query))
    assert (response.status_code, response["Content-Type"]) == (200, "application/pdf")
    return bytes(response.content)


def size_of(pdf: bytes) -> list[float]:
    with pikepdf.open(BytesIO(pdf)) as read:
        return [float(edge) for edge in read.pages[0].mediabox][2:]
