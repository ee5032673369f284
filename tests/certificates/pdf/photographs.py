"""Photographs of nothing, for tests of documents that show some."""

import hashlib
from io import BytesIO
from typing import Any

from PIL import Image

TAKEN = "2026-09-24T10:02:00-04:00"


def photograph(width: int = 1600, height: int = 1200, *, spread: int = 60) -> bytes:
    """A JPEG of noise, the hardest thing to make small; other ``spread``, other noise."""
    output = BytesIO()
    Image.effect_noise((width, height), spread).convert("RGB").save(output, "JPEG", quality=60)
    return output.getvalue()


def row(data: bytes, kind: str, key: str, number: int = 1) -> dict[str, Any]:
    """What a record says of a photograph."""
    return {
        "id": f"00000000-0000-4000-8000-{number:012}",
        "subject": {"kind": kind, "key": key},
        "stage": "cut",
        "sha256": hashlib.sha256(data).hexdigest(),
        "width": 1600,
        "height": 1200,
        "claimed_at": TAKEN,
        "by": "Imani Castellane",
    }
