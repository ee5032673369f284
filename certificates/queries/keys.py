"""The signing keys of a provider, and the records that a given-up key made doubtful."""

from dataclasses import dataclass
from datetime import datetime

from cryptography.hazmat.primitives import hashes
from django.db.models import Count

from certificates.keys import keystore_of
from certificates.models import KeyCompromise, Record
from certificates.queries.standing import DOUBTFUL, standing_of, with_standing
from training.models import Organisation


@dataclass(frozen=True)
class SigningKey:
    """A signing certificate, how many records it signed, and the earliest doubt about it."""

    sha256: str
    valid_from: datetime
    valid_until: datetime
    records: int
    compromise: KeyCompromise | None
    signs: bool


def signing_keys(provider: Organisation, now: datetime) -> list[SigningKey]:
    """Return the signing certificates of ``provider``, the newest first (two queries).

    Raises KeyStoreError when the folder of keys cannot be read.
    """
    counts = dict(
        Record.objects.filter(provider=provider)
        .order_by()
        .values_list("certificate_sha256")
        .annotate(Count("pk"))
    )
    given_up: dict[str, KeyCompromise] = {}
    declared = KeyCompromise.objects.filter(provider=provider).select_related("by")
    for each in declared.order_by("doubtful_from"):
        given_up.setdefault(each.certificate_sha256, each)
    keys, in_use = [], False
    for certificate in keystore_of(provider).signing_certificates():
        sha256 = certificate.fingerprint(hashes.SHA256()).hex()
        start, end = certificate.not_valid_before_utc, certificate.not_valid_after_utc
        signs = not in_use and sha256 not in given_up and start <= now <= end
        in_use |= signs
        keys.append(
            SigningKey(sha256, start, end, counts.get(sha256, 0), given_up.get(sha256), signs)
        )
    return keys


def doubtful_records(provider: Organisation) -> list[Record]:
    """Return the records of ``provider`` that are doubtful and nothing else, oldest first.

    Three queries, however many there are; replaced, withdrawn and suspended ones are left out.
    """
    records = with_standing(
        Record.objects.filter(
            provider=provider, doubts__isnull=False, replaced_by__isnull=True
        ).distinct()
    ).select_related("holder", "provider")
    return [record for record in records.order_by("serial") if standing_of(record).word == DOUBTFUL]
