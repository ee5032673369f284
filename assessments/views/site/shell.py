"""The scoring pages as a shell that a device keeps: the page, its worker and its manifest.

Nothing here holds data or knows who asks, so that the device may keep all of it.
"""

from collections.abc import Iterator

from django.contrib.auth.decorators import login_not_required
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.templatetags.static import static
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.gzip import gzip_page
from django.views.decorators.http import require_safe

from training.shell import (
    collected,
    fresh,
    integrity,
    kept_page,
    served,
    source,
    worker_script,
)

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
    return fresh(HttpResponse(kept_page(PAGE)))


@login_not_required
@require_safe
@gzip_page
def site_worker(request: HttpRequest) -> HttpResponse:
    """Answer the service worker with the list of files that it keeps, each with its digest."""
    files = shell_files()
    script = worker_script(WORKER, files)
    response = HttpResponse(script, content_type="text/javascript; charset=utf-8")
    response["Service-Worker-Allowed"] = "/"
    return fresh(response)


@login_not_required
@require_safe
@gzip_page
def site_manifest(request: HttpRequest) -> HttpResponse:
    """Answer what a device shows when the pages are put on its home screen."""
    home = reverse("site")
    icon = {"src": static("img/favicon.svg"), "sizes": "any", "type": "image/svg+xml"}
    document = {
        "name": _("Bankermark: scoring on site"),
        "short_name": "Bankermark",
        "id": home,
        "start_url": home,
        "scope": home,
        "display": "standalone",
        "background_color": COLOUR,
        "theme_color": COLOUR,
        "icons": [icon],
    }
    return fresh(JsonResponse(document, content_type="application/manifest+json"))


def shell_files() -> list[tuple[str, str]]:
    """Return (path, digest of what is answered there) of each file the device keeps.

    The digest is written as W3C Subresource Integrity has it, so that the browser compares it.
    """
    names = [*OTHER_FILES, *sorted(_scripts())]
    page = (reverse("site"), integrity(kept_page(PAGE).encode()))
    return [page, *((static(name), integrity(served(name))) for name in names)]


def _scripts() -> Iterator[str]:
    """Yield the modules that are answered: collecting joins them into one."""
    storage = collected()
    if storage:
        names = list(storage.hashed_files)
    else:
        folder = source(WORKER).parent
        names = [f"{SCRIPTS}/{path.relative_to(folder).as_posix()}" for path in folder.rglob("*")]
    for name in names:
        if name.startswith(f"{SCRIPTS}/") and name.endswith(".js") and name != WORKER:
            yield name
