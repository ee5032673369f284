"""Photographs kept aside while the rest of their form is mended: no browser sends a file twice.

They lie, as they would be kept, under the person who sent them and the id of what the form makes.
What nobody came back for goes when the same person holds another one a day later.
"""

import uuid
from datetime import datetime, timedelta
from io import BytesIO

from django.core.files.base import ContentFile
from django.core.files.storage import default_storage
from django.utils import timezone
from PIL import Image

from training.models import Person
from training.photographs.reading import Photograph

FOLDER = "log-held"
KEPT = timedelta(days=1)


def hold(person: Person, form: uuid.UUID, place: int, photograph: Photograph) -> None:
    """Keep a photograph at a ``place`` of a form, instead of what was held there before."""
    _drop_old(person)
    drop_held(person, form, place)
    taken = photograph.taken.isoformat() if photograph.taken else ""
    # The moment stands in the name, since the picture itself tells nothing; colons do not fit.
    name = f"{_folder(person)}/{form}_{place}_{taken.replace(':', '.')}_.jpg"
    default_storage.save(name, ContentFile(photograph.content))


def held(person: Person, form: uuid.UUID) -> dict[int, Photograph]:
    """Return what is held for a form, by place."""
    found = {}
    for name in _names(person, f"{form}_"):
        place, taken = name.split("_")[1:3]
        with default_storage.open(f"{_folder(person)}/{name}") as file:
            content = file.read()
        with Image.open(BytesIO(content), formats=["JPEG"]) as picture:
            width, height = picture.size
        moment = datetime.fromisoformat(_with_colons(taken)) if taken else None
        found[int(place)] = Photograph(content, width, height, moment)
    return found


def drop_held(person: Person, form: uuid.UUID, place: int | None = None) -> None:
    """Forget what is held for a form, at one place or at all."""
    for name in _names(person, f"{form}_" if place is None else f"{form}_{place}_"):
        default_storage.delete(f"{_folder(person)}/{name}")


def _with_colons(taken: str) -> str:
    day, _, clock = taken.partition("T")
    return f"{day}T{clock.replace('.', ':')}"


def _names(person: Person, start: str) -> list[str]:
    folder = _folder(person)
    if not default_storage.exists(folder):
        return []
    return [name for name in default_storage.listdir(folder)[1] if name.startswith(start)]


def _drop_old(person: Person) -> None:
    for name in _names(person, ""):
        path = f"{_folder(person)}/{name}"
        if timezone.now() - default_storage.get_modified_time(path) > KEPT:
            default_storage.delete(path)


def _folder(person: Person) -> str:
    return f"{FOLDER}/{person.pk}"
