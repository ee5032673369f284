"""How static files are made small and named after their content when they are collected."""

from collections.abc import Iterator
from typing import Any

import minify
from django.core.files.base import ContentFile
from django.core.files.storage import InMemoryStorage
from whitenoise.storage import CompressedManifestStaticFilesStorage

from config.static.modules import ModuleError, join, loads_more

ENTRIES = ("site/app.js", "presence/app.js")
MODULES = ("site/", "presence/")
WORKERS = ("site/worker.js", "presence/worker.js")
KINDS = {".js": "text/javascript", ".css": "text/css"}

Paths = dict[str, tuple[Any, str]]


class ModuleStorage(CompressedManifestStaticFilesStorage):  # type: ignore[misc]  # untyped
    """Joins the modules of each page kept by devices into one; shrinks scripts and stylesheets.

    Development serves the sources as they are; only what is collected is named in the manifest.
    """

    def post_process(
        self, paths: Paths, dry_run: bool = False, **options: Any
    ) -> Iterator[tuple[str, str | None, Any]]:
        """Name and compress the small form of the files; raises ModuleError naming the file."""
        small = paths if dry_run else shrunk(paths)
        yield from super().post_process(small, dry_run=dry_run, **options)


def shrunk(paths: Paths) -> Paths:
    """Return what is to be served: the modules joined, scripts and stylesheets small."""
    texts = {name: _read(*place) for name, place in paths.items() if _kind(name)}
    sources = {name: text for name, text in texts.items() if _is_module(name)}
    entries = [name for name in ENTRIES if name in sources]
    if entries:
        texts = {name: text for name, text in texts.items() if name not in sources}
        texts |= {entry: join(entry, sources) for entry in entries}
    memory = InMemoryStorage()
    for name, text in texts.items():
        memory.save(name, ContentFile(small(name, text).encode()))
    kept = {name: place for name, place in paths.items() if not _kind(name)}
    return {**kept, **{name: (memory, name) for name in texts}}


def small(name: str, text: str) -> str:
    """Return a script or stylesheet without what only its readers need."""
    try:
        found: str = minify.string(_kind(name), text)
    except minify.MinifyError as error:
        raise ModuleError(f"{name}: {error}") from error
    if name in ENTRIES and loads_more(found):
        raise ModuleError(f"{name}: a joined module has no import() and no import.meta.")
    return found


def _kind(name: str) -> str | None:
    return next((kind for end, kind in KINDS.items() if name.endswith(end)), None)


def _is_module(name: str) -> bool:
    return name.startswith(MODULES) and name.endswith(".js") and name not in WORKERS


def _read(storage: Any, path: str) -> str:
    with storage.open(path) as file:
        text: str = file.read().decode("utf-8")
        return text
