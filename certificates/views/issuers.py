"""What an issuer publishes for readers that check records themselves, without an account."""

import logging

from django.contrib.auth.decorators import login_not_required
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_safe

from certificates.keys import SIGNS, keystore_of
from certificates.signing import KeyStoreError
from training.models import Organisation

log = logging.getLogger(__name__)


@login_not_required
@require_safe
def issuer_crl(request: HttpRequest, pk: int) -> HttpResponse:
    """Give the list of revoked signing certificates of whoever signs here.

    The list is that of RFC 5280, its type that of RFC 2585. Providers sign records, contractors
    submittals.
    """
    organisation = get_object_or_404(Organisation, pk=pk, kind__in=SIGNS)
    try:
        listed = keystore_of(organisation).crl(timezone.now())
    except KeyStoreError as error:
        log.warning("the list of revoked certificates of issuer %s: %s", pk, error)
        raise Http404(
            _("No list of revoked certificates can be given for such an issuer.")
        ) from error
    response = HttpResponse(listed, content_type="application/pkix-crl")
    response["Content-Disposition"] = f'attachment; filename="issuer-{pk}.crl"'
    return response
