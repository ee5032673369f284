"""Pages that a device keeps: which files they need, each with the digest of what is answered."""

import base64
import hashlib
import json
import re
from pathlib import Path, PurePosixPath

from django.conf import settings
from django.contrib.staticfiles import finders
from django.contrib.staticfiles.storage import ManifestStaticFilesStorage, staticfiles_storage
from django.http import HttpResponse
from django.template.loader import render_to_string
from django.utils import translation

IMPORTED = re.compile(r'^(?:import|export)\s*\{[^{}]*\}\s*from\s*"([^"\n]+)";', re.MULTILINE)


def scripts_of(entry: str) -> list[str]:
    """Return the static names of a module and of all that it imports.

    Collecting joins them into ``entry`` alone; the sources are answered one by one.
    """
    if collected():
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
    storage = collected()
    if storage:
        with storage.open(storage.stored_name(name)) as file:
            return bytes(file.read())
    return source(name).read_bytes()


def source(name: str) -> Path:
    """Return where the source of a static file is; FileNotFoundError where there is none."""
    found = finders.find(name)
    if not isinstance(found, str):
        raise FileNotFoundError(f"static file {name}")
    return Path(found)


def integrity(content: bytes) -> str:
    """Return the digest as W3C Subresource Integrity writes it, so that browsers compare it."""
    return f"sha256-{base64.b64encode(hashlib.sha256(content).digest()).decode()}"


def collected() -> ManifestStaticFilesStorage | None:
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


def worker_script(worker: str, files: list[tuple[str, str]]) -> str:
    """Return a service worker's script that begins with the (path, digest) that it keeps."""
    version = hashlib.sha256(json.dumps(files).encode()).hexdigest()[:16]
    head = f"const VERSION = {json.dumps(version)};\nconst SHELL = {json.dumps(files)};\n"
    return head + served(worker).decode()


def kept_page(template: str) -> str:
    """Return a page that a device keeps: the same for everybody, so that its digest holds.

    Its scripts ask for the words of whoever uses it (``views.words``).
    """
    with translation.override("en"):
        return render_to_string(template)


def fresh(response: HttpResponse) -> HttpResponse:
    """Let a browser ask each time whether what it keeps is still so."""
    response["Cache-Control"] = "no-cache"
    return response
