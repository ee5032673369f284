"""The issuer's keys from outside: the commands, and the published list."""

from datetime import timedelta
from io import StringIO
from pathlib import Path

import pytest
from cryptography import x509
from django.core.management import CommandError, call_command
from django.test import Client
from django.utils import timezone

from certificates.keys import keystore_of, known_crls
from certificates.signing import verify
from certificates.stored import read_as_issued
from tests.certificates.conftest import Issued
from tests.factories import make_organisation


def said(*words: str) -> str:
    """What a command wrote."""
    output = StringIO()
    call_command(*words, stdout=output)
    return output.getvalue()


def test_rotate_key_changes_the_signer_and_leaves_records_good(issued: Issued) -> None:
    keystore = keystore_of(issued.yard.provider)
    before = keystore.identity(at=timezone.now()).certificate
    text = said("rotate_key")
    after = keystore.identity(at=timezone.now()).certificate
    assert after != before
    assert f"certificate {after.serial_number:x}" in text
    assert verify(read_as_issued(issued.record), keystore.roots()).genuine


def test_rotate_key_asks_which_provider(issued: Issued) -> None:
    other = make_organisation(name="Quoin & Sons")
    with pytest.raises(CommandError, match=f"{other.pk}: Quoin & Sons"):
        said("rotate_key")
    assert "Quoin & Sons signs from now on" in said("rotate_key", f"--provider={other.pk}")


@pytest.mark.django_db
def test_rotate_key_of_a_contractor() -> None:
    firm = make_organisation("contractor", name="Quoin & Sons")
    # Certificates tell their begin in whole seconds: the first is of the day before.
    yesterday = timezone.now() - timedelta(days=1)
    before = keystore_of(firm).identity(at=yesterday).certificate
    assert "Quoin & Sons signs from now on" in said("rotate_key", f"--contractor={firm.pk}")
    assert keystore_of(firm).identity(at=timezone.now()).certificate != before
    with pytest.raises(CommandError, match=f"No contractor has the number 0 .*{firm.pk}: Quoin"):
        said("rotate_key", "--contractor=0")


def test_publish_crl_writes_the_list_and_copies_it(issued: Issued, tmp_path: Path) -> None:
    provider = issued.yard.provider
    keystore = keystore_of(provider)
    keystore.revoke(issued.record.certificate_sha256, at=timezone.now())
    text = said("publish_crl", f"--to={tmp_path}")
    assert f"{provider.name}: 1 revoked, next list due by" in text
    copy = x509.load_der_x509_crl((tmp_path / f"issuer-{provider.pk}.crl").read_bytes())
    assert known_crls() == [copy]
    with pytest.raises(CommandError, match="cannot be written"):
        said("publish_crl", f"--to={tmp_path / 'nowhere'}")


@pytest.mark.django_db
def test_publish_crl_without_any_key() -> None:
    assert "there is no list to make" in said("publish_crl")


def test_anybody_gets_the_list(issued: Issued, client: Client) -> None:
    provider = issued.yard.provider
    response = client.get(f"/issuers/{provider.pk}/crl.der")
    assert response["Content-Type"] == "application/pkix-crl"
    (kept,) = known_crls()
    assert x509.load_der_x509_crl(response.content) == kept
    certificate = keystore_of(provider).signing_certificates()[0]
    (place,) = certificate.extensions.get_extension_for_class(x509.CRLDistributionPoints).value
    assert [name.value for name in place.full_name or []] == [
        f"http://127.0.0.1:8000/issuers/{provider.pk}/crl.der"
    ]


def test_no_list_of_an_issuer_without_keys(issued: Issued, client: Client) -> None:
    assert client.get(f"/issuers/{make_organisation().pk}/crl.der").status_code == 404
    assert client.get("/issuers/999999/crl.der").status_code == 404
