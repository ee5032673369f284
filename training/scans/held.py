"""A scan kept aside while the rest of its form is mended: no browser sends a file twice.

It lies under the person who sent it and the id of what the form makes; what nobody
came back for goes when the same person holds another one a day later.
"""

import uuid
from datetime import timedelta

from django.core.files.base import ContentFile
from django.core.files.storage import default_storage
from django.utils import timezone

from training.models import Person
from training.scans.kinds import ENDINGS
from training.scans.reading import Scan

FOLDER = "paper-held"
KEPT = timedelta(days=1)


def hold_scan(person: Person, sheet: uuid.UUID, scan: Scan) -> None:
    """Keep ``scan`` in place of what was held for ``sheet`` before."""
    _drop_old(person)
    drop_scan(person, sheet)
    default_storage.save(f"{_folder(person)}/{sheet}{scan.ending}", ContentFile(scan.content))


def held_scan(person: Person, sheet: uuid.UUID) -> Scan | None:
    """Return what is held for ``sheet``, if anything."""
    for ending, kind in ENDINGS.items():
        name = f"{_folder(person)}/{sheet}{ending}"
        if default_storage.exists(name):
            with default_storage.open(name) as file:
                return Scan(file.read(), kind)
    return None


def drop_scan(person: Person, sheet: uuid.UUID) -> None:
    """Forget what is held for ``sheet``."""
    for ending in ENDINGS:
        default_storage.delete(f"{_folder(person)}/{sheet}{ending}")


def _drop_old(person: Person) -> None:
    folder = _folder(person)
    if not default_storage.exists(folder):
        return
    for name in default_storage.listdir(folder)[1]:
        path = f"{folder}/{name}"
        if timezone.now() - default_storage.get_modified_time(path) > KEPT:
            default_storage.delete(path)


def _folder(person: Person) -> str:
    return f"{FOLDER}/{person.pk}"
