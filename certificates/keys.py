"""Where the signing keys of an organisation are.

A provider's sign records, a contractor's sign submittals. They lie in folders of different names,
and what checks a record trusts the roots of providers alone: no contractor's key vouches for one.
"""

from pathlib import Path

from cryptography import x509
from django.conf import settings
from django.urls import reverse

from certificates.credentials.keys import CredentialKeys
from certificates.signing.device import Device
from certificates.signing.errors import KeyStoreError
from certificates.signing.keystore import KeyStore
from certificates.signing.stamping import Authority
from training.models import Organisation

# What each kind of organisation signs, as its certificates say.
SIGNS = {Organisation.Kind.PROVIDER: "records", Organisation.Kind.CONTRACTOR: "submittals"}


def keystore_of(organisation: Organisation) -> KeyStore:
    """Return the keys of a provider or a contractor: each has its own, in a folder of its own.

    Raises KeyError for an organisation that signs nothing.
    """
    token = settings.KEY_TOKEN
    kind = Organisation.Kind(organisation.kind)
    return KeyStore(
        Path(settings.KEY_FOLDER) / f"{kind.value}-{organisation.pk}",
        settings.KEY_PASSPHRASE.encode() or None,
        organisation=organisation.name,
        purpose=SIGNS[kind],
        crl_url=f"{settings.BASE_URL}{reverse('issuer_crl', args=[organisation.pk])}",
        device=Device(token.module, token.label, token.pin) if token else None,
    )


def credential_keys_of(provider: Organisation) -> CredentialKeys:
    """Return the keys of ``provider`` for credentials, which lie beside its issuing keys."""
    folder = Path(settings.KEY_FOLDER) / f"provider-{provider.pk}"
    return CredentialKeys(folder, settings.KEY_PASSPHRASE.encode())


def known_roots() -> list[x509.Certificate]:
    """Return the roots of every provider of this server; needs no passphrase, no database."""
    return [root for keystore in _readable() for root in keystore.roots()]


def known_crls() -> list[x509.CertificateRevocationList]:
    """Return the newest lists of revoked certificates of every provider of this server."""
    return [listed for keystore in _readable() for listed in keystore.crls()]


def known_stamp_roots() -> tuple[x509.Certificate, ...]:
    """Return the roots of the time-stamp authorities to trust; raises KeyStoreError."""
    path = settings.STAMP_ROOTS
    if path is None:
        return ()
    try:
        return tuple(x509.load_pem_x509_certificates(Path(path).read_bytes()))
    except (OSError, ValueError) as error:
        raise KeyStoreError(
            f"{path} (BANKERMARK_TIMESTAMP_ROOTS) holds no readable certificate in PEM form: "
            "put the root of the time-stamp authority there."
        ) from error


def stamp_authority() -> Authority | None:
    """Return the authority to ask for time-stamps; None where none is configured."""
    if not settings.STAMP_URL:
        return None
    return Authority(settings.STAMP_URL, known_stamp_roots())


def _readable() -> list[KeyStore]:
    paths = sorted(Path(settings.KEY_FOLDER).glob("provider-*"))
    return [KeyStore(path, None, organisation="") for path in paths]
