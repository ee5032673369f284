"""The scoring pages as a shell that a device keeps: the page, its worker and its manifest.

Nothing here holds data or knows who asks, so that the device may keep all of it.
"""

import hashlib
import json
from pathlib import Path

from django.conf import settings
from django.contrib.auth.decorators import login_not_required
from django.contrib.staticfiles import finders
from django.contrib.staticfiles.storage import ManifestFilesMixin, staticfiles_storage
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.template.loader import render_to_string
from django.templatetags.static import static
from django.urls import reverse
from django.views.decorators.http import require_safe

PAGE = "site/shell.html"
WORKER = "site/worker.js"
SCRIPTS = "site"
OTHER_FILES = (
    "css/fonts.css",
    "css/score.css",
    "css/site.css",
    "fonts/commissioner/commissioner-latin-flar-normal.woff2",
    "fonts/commissioner/commissioner-latin-ext-flar-normal.woff2",
    "img/favicon.svg",
)
COLOUR = "#ffffff"


@login_not_required
@require_safe
def site(request: HttpRequest) -> HttpResponse:
    """Answer the empty page that the scripts fill."""
    return _fresh(HttpResponse(render_to_string(PAGE)))


@login_not_required
@require_safe
def site_worker(request: HttpRequest) -> HttpResponse:
    """Answer the service worker with the list of files that it keeps, each with its SHA-256."""
    files = shell_files()
    version = hashlib.sha256(json.dumps(files).encode()).hexdigest()[:16]
    head = f"const VERSION = {json.dumps(version)};\nconst SHELL = {json.dumps(files)};\n"
    response = HttpResponse(
        head + _source(WORKER).read_text(), content_type="text/javascript; charset=utf-8"
    )
    response["Service-Worker-Allowed"] = "/"
    return _fresh(response)


@login_not_required
@require_safe
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
    """Return (path, SHA-256 of what is answered there) of each file the device keeps."""
    scripts = sorted(
        f"{SCRIPTS}/{path.relative_to(folder).as_posix()}"
        for folder in [_source(WORKER).parent]
        for path in folder.rglob("*.js")
    )
    names = [*OTHER_FILES, *(name for name in scripts if name != WORKER)]
    page = (reverse("site"), _digest(render_to_string(PAGE).encode()))
    return [page, *((static(name), _digest(_served(name))) for name in names)]


def _source(name: str) -> Path:
    found = finders.find(name)
    if not isinstance(found, str):
        raise FileNotFoundError(f"static file {name}")
    return Path(found)


def _served(name: str) -> bytes:
    """The file as it is answered: collecting may have rewritten what it imports."""
    if isinstance(staticfiles_storage, ManifestFilesMixin) and not settings.DEBUG:
        with staticfiles_storage.open(staticfiles_storage.stored_name(name)) as file:
            return file.read()
    return _source(name).read_bytes()


def _digest(content: bytes) -> str:
    return hashlib.sha256(content).hexdigest()


def _fresh(response: HttpResponse) -> HttpResponse:
    response["Cache-Control"] = "no-cache"
    return response
