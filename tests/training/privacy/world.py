"""A person about whom everything is held that can be; all invented."""

import hashlib
import uuid
from datetime import date, timedelta
from typing import Any

from django.core.files.base import ContentFile
from django.utils import timezone

from assessments.models import Attempt, Judge, Panel, PaperSheet, Photo, PhotoBytes
from tests.assessments.builders import Yard
from tests.assessments.site.pictures import jpeg
from training.actions.consents import give_consent
from training.models import Complaint, HeldDocument, Organisation, Person, Question

NAME = "Zdenka Kolářová-Ní Bhriain"
ADDRESS = "zdenka.kolarova@example.org"


def rename(person: Person) -> None:
    """Give the person a name and address that stand nowhere else."""
    person.full_name, person.email = NAME, ADDRESS
    person.save()


def paper(person: Person, provider: Organisation, seen_by: Person, **fields: Any) -> HeldDocument:
    """Return a paper with a file."""
    data = b"%PDF- site induction"
    values = {
        "person": person,
        "provider": provider,
        "kind": "induction",
        "title": "Site induction",
        "issuer": "Port Ellery Works",
        "number": "SI-4471",
        "issued_on": date(2026, 1, 5),
        "sha256": hashlib.sha256(data).hexdigest(),
        "seen_by": seen_by,
    }
    held = HeldDocument(**{**values, **fields})
    held.file.save("induction.pdf", ContentFile(data), save=False)
    held.save()
    return held


def picture(attempt: Attempt, by: Person, data: bytes) -> PhotoBytes:
    """Return the bytes of a photograph of the attempt; the same bytes are kept once."""
    sha = hashlib.sha256(data).hexdigest()
    Photo.objects.create(
        id=uuid.uuid4(),
        attempt=attempt,
        subject_kind="criterion",
        subject_key="C1",
        assessor=by,
        device=uuid.uuid4(),
        epoch=uuid.uuid4(),
        seq=1,
        sha256=sha,
        size=len(data),
        width=4,
        height=3,
        claimed_at=timezone.now(),
        device_zone="America/New_York",
        content_digest="0" * 64,
    )
    kept = PhotoBytes.objects.filter(pk=sha).first()
    if kept is None:
        kept = PhotoBytes(sha256=sha, size=len(data))
        kept.file.save(f"{sha}.jpg", ContentFile(data), save=False)
        kept.save(force_insert=True)
    return kept


def sheet(attempt: Attempt, by: Person) -> PaperSheet:
    """Return a scanned score sheet."""
    data = b"%PDF- sheet"
    made = PaperSheet(
        attempt=attempt,
        assessor=by,
        keyed_by=by,
        scored_at=timezone.now() - timedelta(hours=1),
        kind=PaperSheet.Kind.PDF,
        sha256=hashlib.sha256(data).hexdigest(),
        size=len(data),
    )
    made.file.save("sheet.pdf", ContentFile(data), save=False)
    made.save(force_insert=True)
    return made


def fill(yard: Yard, attempt: Attempt) -> None:
    """Hold papers, consents, questions, complaints, a seat, pictures and sheets of the trainee."""
    who = yard.trainee
    paper(who, yard.provider, yard.instructor)
    give_consent(actor=who, provider=yard.provider, kind="photographs")
    Question.objects.create(
        run=yard.run, asked_by=who, text=f"{NAME} asks: how deep?", written_by=yard.instructor
    )
    Complaint.objects.create(
        provider=yard.provider, text=f"Too cold, says {NAME}.", made_by=who, run=yard.run
    )
    panel = Panel.objects.create(
        program=yard.program, number=1, method="angoff", just_meets="Even.", made_by=yard.lead
    )
    Judge.objects.create(
        panel=panel,
        person=who,
        state=Judge.State.STOOD_DOWN,
        stood_down_because="Away.",
        qualifications=f"{NAME} has set stone for 20 years.",
        interests="None.",
        invited_by=yard.lead,
    )
    picture(attempt, yard.instructor, jpeg())
    sheet(attempt, yard.instructor)
