"""Issuing where a time-stamp authority is configured: no record without a time-stamp."""

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from django.utils import timezone

from certificates.actions.issue import issue_record
from certificates.keys import keystore_of, known_crls, known_stamp_roots
from certificates.models import Record
from certificates.signing import KeyStoreError, verify
from certificates.stored import read_as_issued
from tests.assessments.builders import make_yard
from tests.certificates.builders import met_decision
from tests.certificates.signing.authority import Office, make_office, opened, write_roots
from tests.certificates.test_issue import stored_files
from training.errors import Refused


@pytest.fixture
def office(settings: Any, tmp_path: Path) -> Iterator[Office]:
    """An authority with the true time, configured on this server."""
    made = make_office(timezone.now())
    made.at = None
    with opened(made) as served:
        settings.STAMP_URL = served.url
        settings.STAMP_ROOTS = write_roots(served, tmp_path)
        yield served


@pytest.mark.django_db
def test_a_record_gets_a_time_stamp(office: Office) -> None:
    yard = make_yard()
    record = issue_record(actor=yard.lead, decision=met_decision(yard))
    found = verify(
        read_as_issued(record),
        keystore_of(yard.provider).roots(),
        stamp_roots=known_stamp_roots(),
        crls=known_crls(),
    )
    assert found.faults == []
    assert (found.level, found.revoked) == ("B-LT", False)
    assert found.stamped_at is not None
    assert abs((found.stamped_at - record.issued_at).total_seconds()) < 600


@pytest.mark.django_db
def test_without_an_answer_nothing_is_issued(office: Office, settings: Any) -> None:
    yard = make_yard()
    decision = met_decision(yard)
    settings.STAMP_URL = "http://127.0.0.1:9/stamp"
    before = stored_files()
    with pytest.raises(
        Refused, match=r"Nothing was issued\. The time-stamp authority 127\.0\.0\.1"
    ):
        issue_record(actor=yard.lead, decision=decision)
    assert not Record.objects.exists()
    assert stored_files() == before
    settings.STAMP_URL = office.url
    assert issue_record(actor=yard.lead, decision=decision).serial == 1


def test_a_file_without_roots_is_named(settings: Any, tmp_path: Path) -> None:
    settings.STAMP_ROOTS = tmp_path / "empty.pem"
    for text in (None, "no certificate"):
        if text is not None:
            settings.STAMP_ROOTS.write_text(text)
        with pytest.raises(KeyStoreError, match="BANKERMARK_TIMESTAMP_ROOTS"):
            known_stamp_roots()
