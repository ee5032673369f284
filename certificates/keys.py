"""Where the issuing keys of a provider are."""

from pathlib import Path

from cryptography import x509
from django.conf import settings
from django.urls import reverse

from certificates.signing.keystore import KeyStore
from training.models import Organisation


def keystore_of(provider: Organisation) -> KeyStore:
    """Return the keys of ``provider``: each has its own, in a folder of its own."""
    return KeyStore(
        Path(settings.KEY_FOLDER) / f"provider-{provider.pk}",
        settings.KEY_PASSPHRASE.encode(),
        organisation=provider.name,
        crl_url=f"{settings.BASE_URL}{reverse('issuer_crl', args=[provider.pk])}",
    )


def known_roots() -> list[x509.Certificate]:
    """Return the roots of every provider of this server; needs no passphrase, no database."""
    return [root for keystore in _readable() for root in keystore.roots()]


def known_crls() -> list[x509.CertificateRevocationList]:
    """Return the newest lists of revoked certificates of every provider of this server."""
    return [listed for keystore in _readable() for listed in keystore.crls()]


def _readable() -> list[KeyStore]:
    paths = sorted(Path(settings.KEY_FOLDER).glob("provider-*"))
    return [KeyStore(path, None, organisation="") for path in paths]
