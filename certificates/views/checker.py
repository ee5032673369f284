"""Giving out the checker: a page that checks records on anybody's own computer."""

import logging

from django.conf import settings
from django.contrib.auth.decorators import login_not_required
from django.http import HttpRequest, HttpResponse
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_safe

from certificates.checker import checker_page
from certificates.keys import known_roots
from certificates.signing import KeyStoreError

log = logging.getLogger(__name__)

SOURCES = settings.BASE_DIR / "static" / "checker"
FILE_NAME = "record-checker.html"


@login_not_required
@require_safe
@never_cache
def checker(request: HttpRequest) -> HttpResponse:
    """Send the page as a file to keep, with the roots of every issuer of this server."""
    try:
        roots = known_roots()
    except KeyStoreError:
        # It still works: who uses it adds the root from a file.
        log.exception("the checker is given out without roots")
        roots = []
    page = checker_page(SOURCES, roots, origin=settings.BASE_URL, made=timezone.now())
    response = HttpResponse(page)
    response["Content-Disposition"] = f'attachment; filename="{FILE_NAME}"'
    return response
