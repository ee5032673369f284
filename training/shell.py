"""Pages that a device keeps: which files they need, each with the digest of what is answered."""

import base64
import hashlib
import re
from pathlib import Path, PurePosixPath

from django.conf import settings
from django.contrib.staticfiles import finders
from django.contrib.staticfiles.storage import ManifestStaticFilesStorage, staticfiles_storage

IMPORTED = re.compile(r'^(?:import|export)\s*\{[^{}]*\}\s*from\s*"([^"\n]+)";', re.MULTILINE)


def scripts_of(entry: str) -> list[str]:
    """Return the static names of a module and of all that it imports.

    Collecting joins them into ``entry`` alone; the sources are answered one by one.
    """
    if _collected():
        return [entry]
    found: list[str] = []
    waiting = [entry]
    while waiting:
        name = waiting.pop()
        if name in found:
            continue
        found.append(name)
        folder = PurePosixPath(name).parent
        waiting += [_joined(folder, path) for path in IMPORTED.findall(served(name).decode())]
    return sorted(found)


def served(name: str) -> bytes:
    """Return a static file as it is answered: collecting makes it smaller."""
    storage = _collected()
    if storage:
        with storage.open(storage.stored_name(name)) as file:
            return bytes(file.read())
    found = finders.find(name)
    if not isinstance(found, str):
        raise FileNotFoundError(f"static file {name}")
    return Path(found).read_bytes()


def integrity(content: bytes) -> str:
    """Return the digest as W3C Subresource Integrity writes it, so that browsers compare it."""
    return f"sha256-{base64.b64encode(hashlib.sha256(content).digest()).decode()}"


def _collected() -> ManifestStaticFilesStorage | None:
    """The storage of what was collected; None where the sources are answered."""
    if isinstance(staticfiles_storage, ManifestStaticFilesStorage) and not settings.DEBUG:
        return staticfiles_storage
    return None


def _joined(folder: PurePosixPath, path: str) -> str:
    parts: list[str] = []
    for part in (*folder.parts, *PurePosixPath(path).parts):
        if part == "..":
            parts.pop()
        elif part != ".":
            parts.append(part)
    return "/".join(parts)
