"""Removing stored files whose row never came to be."""

import logging
from collections.abc import Iterator
from datetime import timedelta

from django.apps import apps
from django.core.files.storage import default_storage
from django.db.models import FileField
from django.utils import timezone

log = logging.getLogger(__name__)

FOLDERS = ("records", "submittals", "reports", "documents", "materials", "log")
APPS = ("training", "assessments", "certificates")
# A file is stored seconds before its row: what is younger may belong to one that is being made.
YOUNGEST = timedelta(hours=1)
AT_ONCE = 500


def sweep_files(*, only_look: bool = False, youngest: timedelta = YOUNGEST) -> list[str]:
    """Remove the files below ``FOLDERS`` that no row names; return their names in the storage.

    A process that is killed between storing a file and saving its row leaves one. Files younger
    than ``youngest`` are left alone. With ``only_look`` nothing is removed.
    """
    before = timezone.now() - youngest
    removed = []
    for names in _batches(name for folder in FOLDERS for name in _files(folder)):
        for name in sorted(names - _named(names)):
            try:
                if default_storage.get_modified_time(name) > before:
                    continue
                if not only_look:
                    default_storage.delete(name)
                    log.warning("removed %s: no row names this file", name)
            except FileNotFoundError:
                continue  # another worker sweeps as well
            removed.append(name)
    return removed


def _files(folder: str) -> Iterator[str]:
    """Give the name of every file below ``folder``, and nothing when it is not there."""
    try:
        folders, files = default_storage.listdir(folder)
    except FileNotFoundError:
        return
    yield from (f"{folder}/{name}" for name in files)
    for name in folders:
        yield from _files(f"{folder}/{name}")


def _batches(names: Iterator[str]) -> Iterator[set[str]]:
    batch: set[str] = set()
    for name in names:
        batch.add(name)
        if len(batch) == AT_ONCE:
            yield batch
            batch = set()
    yield batch


def _named(names: set[str]) -> set[str]:
    """Return those of ``names`` that some row holds in a field for files."""
    found: set[str] = set()
    for model in (each for app in APPS for each in apps.get_app_config(app).get_models()):
        for field in model._meta.get_fields():
            if isinstance(field, FileField):
                rows = model._default_manager.filter(**{f"{field.name}__in": names})
                found.update(rows.values_list(field.name, flat=True))
    return found
