"""Packs and what devices send with them, for the tests."""

import uuid
from datetime import timedelta
from typing import Any

from django.test import Client
from django.utils import timezone

from assessments.actions.site.packs import token_of
from assessments.models import Attempt, Pack
from tests.assessments.builders import Yard, event
from tests.assessments.site.pictures import sha256
from training.models import CourseRun, Person

DEVICE = "00000000-0000-4000-8000-000000000007"
BACKEND = "django.contrib.auth.backends.ModelBackend"


def make_pack(yard: Yard, assessor: Person | None = None, **changes: Any) -> Pack:
    """Return a pack of the yard's run, as its instructor took it up."""
    run: CourseRun = yard.run
    values = {
        "device": uuid.UUID(DEVICE),
        "expires_at": timezone.now() + timedelta(days=1),
        **changes,
    }
    return Pack.objects.create(run=run, assessor=assessor or yard.instructor, **values)


def photo_event(attempt: Attempt, data: bytes, key: str = "C1", **changes: Any) -> dict[str, Any]:
    """Return the event of a photograph of a criterion."""
    base = {
        "kind": "photo",
        "id": str(uuid.uuid4()),
        "attempt": str(attempt.pk),
        "device": DEVICE,
        "epoch": str(uuid.uuid4()),
        "seq": 1,
        "subject": {"kind": "criterion", "key": key},
        "sha256": sha256(data),
        "size": len(data),
        "width": 80,
        "height": 60,
        "claimed_at": "2026-11-03T10:14:00-05:00",
        "device_time": "2026-11-03T10:15:00-05:00",
        "device_zone": "America/New_York",
        "standard_digest": attempt.standard.digest,
        "schema_version": 1,
    }
    return {**base, **changes}


def scored(attempt: Attempt, key: str, value: dict[str, Any], **changes: Any) -> dict[str, Any]:
    """Return an observation event of DEVICE."""
    return event(attempt, key, value, device=DEVICE, **changes)


def put(pack: Pack, data: bytes, digest: str | None = None, token: str | None = None) -> Any:
    """Send the bytes of a photograph as a device does, without a session."""
    return Client(enforce_csrf_checks=True).put(
        f"/site/photos/{digest or sha256(data)}/",
        data,
        content_type="image/jpeg",
        headers={"Authorization": f"Pack {token_of(pack) if token is None else token}"},
    )


def signed_in(person: Person) -> Client:
    """Return a browser in which ``person`` is signed in."""
    client = Client()
    client.force_login(person, backend=BACKEND)
    return client
