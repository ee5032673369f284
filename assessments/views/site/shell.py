"""The scoring pages as a shell that a device keeps: the page, its worker and its manifest.

Nothing here holds data or knows who asks, so that the device may keep all of it.
"""

import base64
import hashlib
import json
from collections.abc import Iterator
from pathlib import Path

from django.conf import settings
from django.contrib.auth.decorators import login_not_required
from django.contrib.staticfiles import finders
from django.contrib.staticfiles.storage import ManifestStaticFilesStorage, staticfiles_storage
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.template.loader import render_to_string
from django.templatetags.static import static
from django.urls import reverse
from django.views.decorators.gzip import gzip_page
from django.views.decorators.http import require_safe

PAGE = "site/shell.html"
WORKER = "site/worker.js"
SCRIPTS = "site"
OTHER_FILES = (
    "css/score.css",
    "css/site-fonts.css",
    "css/site.css",
    "fonts/commissioner/commissioner-latin-ext-site.woff2",
    "fonts/commissioner/commissioner-latin-site.woff2",
    "img/favicon.svg",
)
COLOUR = "#ffffff"


@login_not_required
@require_safe
@gzip_page
def site(request: HttpRequest) -> HttpResponse:
    """Answer the empty page that the scripts fill."""
    return _fresh(HttpResponse(render_to_string(PAGE)))


@login_not_required
@require_safe
@gzip_page
def site_worker(request: HttpRequest) -> HttpResponse:
    """Answer the service worker with the list of files that it keeps, each with its digest."""
    files = shell_files()
    version = hashlib.sha256(json.dumps(files).encode()).hexdigest()[:16]
    head = f"const VERSION = {json.dumps(version)};\nconst SHELL = {json.dumps(files)};\n"
    response = HttpResponse(
        head.encode() + _served(WORKER), content_type="text/javascript; charset=utf-8"
    )
    response["Service-Worker-Allowed"] = "/"
    return _fresh(response)


@login_not_required
@require_safe
@gzip_page
def site_manifest(request: HttpRequest) -> HttpResponse:
    """Answer what a device shows when the pages are put on its home screen."""
    home = reverse("site")
    icon = {"src": static("img/favicon.svg"), "sizes": "any", "type": "image/svg+xml"}
    document = {
        "name": "Bankermark: scoring on site",
        "short_name": "Bankermark",
        "id": home,
        "start_url": home,
        "scope": home,
        "display": "standalone",
        "background_color": COLOUR,
        "theme_color": COLOUR,
        "icons": [icon],
    }
    return _fresh(JsonResponse(document, content_type="application/manifest+json"))


def shell_files() -> list[tuple[str, str]]:
    """Return (path, digest of what is answered there) of each file the device keeps.

    The digest is written as W3C Subresource Integrity has it, so that the browser compares it.
    """
    names = [*OTHER_FILES, *sorted(_scripts())]
    page = (reverse("site"), _digest(render_to_string(PAGE).encode()))
    return [page, *((static(name), _digest(_served(name))) for name in names)]


def _scripts() -> Iterator[str]:
    """Yield the modules that are answered: collecting joins them into one."""
    storage = _collected()
    if storage:
        names = list(storage.hashed_files)
    else:
        folder = _source(WORKER).parent
        names = [f"{SCRIPTS}/{path.relative_to(folder).as_posix()}" for path in folder.rglob("*")]
    for name in names:
        if name.startswith(f"{SCRIPTS}/") and name.endswith(".js") and name != WORKER:
            yield name


def _collected() -> ManifestStaticFilesStorage | None:
    """The storage of what was collected; None where the sources are answered."""
    if isinstance(staticfiles_storage, ManifestStaticFilesStorage) and not settings.DEBUG:
        return staticfiles_storage
    return None


def _source(name: str) -> Path:
    found = finders.find(name)
    if not isinstance(found, str):
        raise FileNotFoundError(f"static file {name}")
    return Path(found)


def _served(name: str) -> bytes:
    """The file as it is answered: collecting makes it smaller."""
    storage = _collected()
    if storage:
        with storage.open(storage.stored_name(name)) as file:
            return bytes(file.read())
    return _source(name).read_bytes()


def _digest(content: bytes) -> str:
    return f"sha256-{base64.b64encode(hashlib.sha256(content).digest()).decode()}"


def _fresh(response: HttpResponse) -> HttpResponse:
    response["Cache-Control"] = "no-cache"
    return response
