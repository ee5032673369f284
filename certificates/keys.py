"""Where the issuing keys of a provider are."""

from pathlib import Path

from cryptography import x509
from django.conf import settings

from certificates.signing.keystore import KeyStore
from training.models import Organisation


def keystore_of(provider: Organisation) -> KeyStore:
    """Return the keys of ``provider``: each has its own, in a folder of its own."""
    return KeyStore(
        Path(settings.KEY_FOLDER) / f"provider-{provider.pk}",
        settings.KEY_PASSPHRASE.encode(),
        organisation=provider.name,
    )


def known_roots() -> list[x509.Certificate]:
    """Return the roots of every provider of this server; needs no passphrase, no database."""
    folder = Path(settings.KEY_FOLDER)
    return [
        root
        for path in sorted(folder.glob("provider-*"))
        for root in KeyStore(path, None, organisation="").roots()
    ]
