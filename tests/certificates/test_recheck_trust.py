"""Rechecking far from the issuer: its list of revoked certificates, and trusted time."""

from collections.abc import Iterator
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest
from django.utils import timezone

from certificates.actions.issue import issue_record
from certificates.keys import keystore_of
from certificates.models import Record
from tests.assessments.builders import make_yard
from tests.certificates.builders import file_of, met_decision
from tests.certificates.conftest import Issued
from tests.certificates.signing.authority import Office, make_office, opened, write_roots
from tests.certificates.test_recheck import file, recheck, refused, root

__all__ = ["file", "root"]


@pytest.fixture
def office() -> Iterator[Office]:
    """An authority with the true time."""
    made = make_office(timezone.now())
    made.at = None
    with opened(made) as served:
        yield served


def revoked(record: Record, path: Path, *, doubtful_from: Any) -> Path:
    """The issuer's list after it revoked the key of ``record``, saved beside it."""
    keystore = keystore_of(record.provider)
    path.write_bytes(
        keystore.revoke(record.certificate_sha256, at=timezone.now(), doubtful_from=doubtful_from)
    )
    return path


def test_it_says_what_it_could_not_look_at(file: Path, root: Path) -> None:
    said = recheck(file, "--root", root)
    assert "no trusted time-stamp; no list of revoked keys to look at" in said


def test_a_record_of_a_revoked_key_does_not_pass(
    issued: Issued, file: Path, root: Path, tmp_path: Path
) -> None:
    listed = revoked(issued.record, tmp_path / "list.der", doubtful_from=timezone.now())
    for words in (("--root", root, "--crl", listed), ()):
        said, code = refused(file, *words)
        assert "has revoked the certificate that this file was signed with" in said
        assert code == 1
    assert "agrees" in recheck(file, "--root", root)


@pytest.mark.django_db
def test_a_stamp_before_the_doubt_keeps_it_good(
    office: Office, tmp_path: Path, settings: Any
) -> None:
    settings.STAMP_URL, settings.STAMP_ROOTS = office.url, write_roots(office, tmp_path)
    yard = make_yard()
    record = issue_record(actor=yard.lead, decision=met_decision(yard))
    path, roots = tmp_path / "record.pdf", tmp_path / "root.pem"
    path.write_bytes(file_of(record))
    roots.write_bytes(keystore_of(record.provider).roots_pem())
    later = timezone.now() + timedelta(seconds=2)
    keystore_of(record.provider).revoke(record.certificate_sha256, at=later)
    listed = tmp_path / "list.der"
    listed.write_bytes(keystore_of(record.provider).crl(later))
    words = ["--root", roots, "--crl", listed, "--stamp-root", settings.STAMP_ROOTS]
    said = recheck(path, *words)
    assert "time-stamped at 20" in said
    assert "the signing key was revoked later" in said
    assert "the signing key was revoked later" in recheck(path)
    said, code = refused(path, *words[:4])
    assert "no trusted time-stamp shows" in said
    assert code == 1


def test_what_cannot_be_used_is_named(file: Path, root: Path, tmp_path: Path) -> None:
    said, code = refused(file, "--crl", root)
    assert "go with --root" in said
    assert code == 2
    said, code = refused(file, "--root", root, "--crl", root)
    assert "holds no list of revoked certificates in DER form" in said
    assert code == 2
    said, code = refused(file, "--root", root, "--crl", tmp_path / "nothing.der")
    assert "cannot be read" in said
    assert code == 2
