"""What is published about credentials: their addresses, and which status bits are set."""

from django.conf import settings
from django.db.models import Exists, OuterRef, Q
from django.urls import reverse

from certificates.credentials.status_list import REVOCATION, SUSPENSION
from certificates.models import Doubt, Record, StatusChange
from certificates.queries.standing import (
    DOUBTFUL,
    REPLACED,
    SUSPENDED,
    WITHDRAWN,
    standing_of,
    with_standing,
)
from training.models import Organisation

# Nothing brings a withdrawn or replaced record back, so the bit of a revocation never goes out.
# The other list says not to accept a credential for now, whatever the reason: it is the one
# that credentials name. That a record lapsed is in neither: the credential says until when.
SET: dict[str, frozenset[str]] = {
    REVOCATION: frozenset({WITHDRAWN, REPLACED}),
    SUSPENSION: frozenset({SUSPENDED, DOUBTFUL, WITHDRAWN, REPLACED}),
}


def credential_address(number: str) -> str:
    """Return the public address of the credential of the record ``number``."""
    return _address("check_credential", number)


def issuer_address(provider: int) -> str:
    """Return the address of the document with the issuer's keys, which names the issuer."""
    return _address("issuer_controller", provider)


def list_address(provider: int, purpose: str, number: int) -> str:
    """Return the address of a status list."""
    return _address("issuer_status", provider, purpose, number)


def set_indices(provider: Organisation, purpose: str, number: int) -> list[int]:
    """Return the indices in the list ``number`` whose bit is set now (three queries).

    Only records to which something happened are looked at; how each stands is what every
    page says of it.
    """
    happened = (
        Q(Exists(StatusChange.objects.filter(record=OuterRef("pk"))))
        | Q(Exists(Doubt.objects.filter(record=OuterRef("pk"))))
        | Q(replaced_by__isnull=False)
        | Q(decision__replaced_by__isnull=False)
    )
    records = with_standing(
        Record.objects.filter(
            happened, credential__provider=provider, credential__list_number=number
        )
    ).select_related("credential")
    return [
        record.credential.index
        for record in records.defer("document", "credential__document")
        if standing_of(record).word in SET[purpose]
    ]


def _address(name: str, *args: int | str) -> str:
    return f"{settings.BASE_URL}{reverse(name, args=args)}"
