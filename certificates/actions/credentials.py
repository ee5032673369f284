"""Making the credential of a record, once, when somebody first asks for it."""

import logging
import secrets
from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo

from django.db import IntegrityError, transaction
from django.db.models import Count

from certificates.credentials import achievement
from certificates.credentials.controller import method_address
from certificates.credentials.proofs import with_proof
from certificates.credentials.status_list import ENTRIES, SUSPENSION
from certificates.keys import credential_keys_of
from certificates.models import Credential, Record
from certificates.queries.credentials import (
    SET,
    credential_address,
    issuer_address,
    list_address,
)
from certificates.queries.standing import standing_of
from certificates.signing import KeyStoreError
from training.errors import Refused
from training.models import Organisation

log = logging.getLogger(__name__)
# A list is left when it is half full: a free index drawn at random is found in two tries.
FULL = ENTRIES // 2
TRIES = 100


class KeyUnusable(Refused):
    """The issuer's key for credentials cannot be used; whoever runs the server mends it."""


def make_credential(*, record: Record, at: datetime) -> Credential:
    """Return the credential of ``record``; sign and keep it if there is none yet.

    ``record`` is one whose file and signature were just checked. Nobody decides anything
    here, so nothing is logged: whoever asks gets the same document for ever. Raises Refused
    for a record without a credential that is suspended, doubtful, withdrawn or replaced, and
    its kind KeyUnusable when the key cannot be used.
    """
    for _ in range(TRIES):
        made = Credential.objects.filter(record=record).first()
        if made is not None:
            return made
        word = standing_of(record).word
        if word in SET[SUSPENSION]:
            raise Refused(f"This record is {word}: no credential is made of it.")
        number, index = _place(record.provider)
        document = _signed(record, list_address(record.provider_id, SUSPENSION, number), index, at)
        try:
            with transaction.atomic():
                return Credential.objects.create(
                    record=record,
                    provider=record.provider,
                    list_number=number,
                    index=index,
                    document=document,
                    made_at=at,
                )
        except IntegrityError:
            # Another process made it at this moment, or the index is taken: look again.
            continue
    raise RuntimeError(f"No free index in {TRIES} tries for record {record.number}.")


def _place(provider: Organisation) -> tuple[int, int]:
    """Return the number of the list that is being filled, and an index drawn at random."""
    last = (
        Credential.objects.filter(provider=provider)
        .values("list_number")
        .annotate(entries=Count("pk"))
        .order_by("-list_number")
        .first()
    )
    number = 1 if last is None else last["list_number"] + (last["entries"] >= FULL)
    return number, secrets.randbelow(ENTRIES)


def _signed(record: Record, status_list: str, index: int, at: datetime) -> dict[str, Any]:
    issuer = issuer_address(record.provider_id)
    unsigned = achievement.credential(
        record.document,
        achievement.Places(
            credential=credential_address(record.number),
            check=record.document["check_url"],
            issuer=issuer,
            status_list=status_list,
            index=index,
        ),
        zone=ZoneInfo(record.decision.attempt.enrolment.run.site.time_zone),
    )
    return signed_by(record.provider, unsigned, at=at)


def signed_by(provider: Organisation, document: dict[str, Any], *, at: datetime) -> dict[str, Any]:
    """Return ``document`` with the issuer's proof; raise KeyUnusable when it cannot sign."""
    try:
        key = credential_keys_of(provider).signer(at=at)
    except KeyStoreError as error:
        log.error("issuer %s cannot sign credentials: %s", provider.pk, error)
        raise KeyUnusable(
            "The issuer's key for credentials cannot be used on this server. Try again later, or "
            "check the record itself."
        ) from error
    method = method_address(issuer_address(provider.pk), key.public_key())
    return with_proof(document, key=key, verification_method=method, created=at)
