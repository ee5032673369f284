"""The static files as a deployment collects them, and what a device fetches of them."""

import gzip
from pathlib import Path
from typing import Any

from django.core.management import call_command
from django.test import Client
from django.urls import reverse

from assessments.views.site.shell import shell_files
from config.settings import STORAGES

VIEWS = ("site", "site_worker", "site_manifest")


def collect(settings: Any) -> Path:
    """Collect the static files and answer with them from then on; returns the folder.

    ``settings`` is pytest-django's, which takes all of it back after the test.
    """
    settings.STORAGES = {**settings.STORAGES, "staticfiles": STORAGES["staticfiles"]}
    call_command("collectstatic", verbosity=0, interactive=False)
    return Path(settings.STATIC_ROOT)


def fetched_sizes(folder: Path) -> dict[str, int]:
    """Return how many bytes each file of the shell has on the way, once collected there."""
    sizes = {reverse(name): _squeezed(reverse(name)) for name in VIEWS}
    for path, _ in shell_files()[1:]:
        plain = folder / path.removeprefix("/static/")
        file = plain if path.endswith(".woff2") else plain.with_name(f"{plain.name}.br")
        sizes[path] = file.stat().st_size
    return sizes


def scripts_among(sizes: dict[str, int]) -> dict[str, int]:
    """Return the sizes of the scripts: all modules in one, and the worker."""
    return {path: size for path, size in sizes.items() if path.endswith(".js")}


def _squeezed(address: str) -> int:
    answer = Client().get(address, headers={"accept-encoding": "gzip", "host": "127.0.0.1"})
    assert answer["Content-Encoding"] == "gzip"
    # Django hides the length by up to 100 bytes; counted so, it is the same each time.
    return len(gzip.compress(gzip.decompress(answer.content), 6)) + 100
