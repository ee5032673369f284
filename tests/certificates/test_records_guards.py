"""What the database refuses, whatever the code above it does."""

import pytest
from django.db import IntegrityError, connection, transaction

from certificates.models import Record, WrongNumber
from tests.assessments.builders import make_yard
from tests.certificates.builders import decide_attempt, met_decision, record_row


@pytest.fixture
def record(db: None) -> Record:
    """Return an issued record."""
    return record_row(met_decision(make_yard()))


@pytest.mark.parametrize(
    "statement",
    [
        "UPDATE certificates_record SET valid_until = '2099-01-01'",
        "UPDATE certificates_record SET holder_id = holder_id",
        "DELETE FROM certificates_record",
        "TRUNCATE certificates_record CASCADE",
    ],
)
def test_an_issued_record_never_changes(record: Record, statement: str) -> None:
    with connection.cursor() as cursor:
        # TRUNCATE would be put off as long as checks of this transaction are.
        cursor.execute("SET CONSTRAINTS ALL IMMEDIATE")
        with pytest.raises(IntegrityError, match="append-only"), transaction.atomic():
            cursor.execute(statement)
    assert Record.objects.get() == record


@pytest.mark.parametrize(
    ("fields", "constraint"),
    [
        ({"serial": 1}, "record_serial_once"),
        ({"serial": 0}, "record_serial_from_one"),
        ({"number": "7K3M-9QX2-04VD-HT8U"}, "record_number_form"),
        ({"number": "7k3m-9qx2-04vd-ht8b"}, "record_number_form"),
        ({"number": "7K3M9QX204VDHT8B"}, "record_number_form"),
        ({"digest": "A" * 64}, "record_digest_form"),
        ({"pdf_sha256": "0" * 63}, "record_pdf_digest_form"),
        ({"certificate_sha256": ""}, "record_certificate_digest_form"),
        ({"competency": "a.pdf"}, "record_competency_with_digest"),
        ({"competency_sha256": "0" * 64}, "record_competency_with_digest"),
        (
            {"competency": "a.pdf", "competency_sha256": "A" * 64},
            "record_competency_with_digest",
        ),
    ],
)
def test_what_no_record_can_be(record: Record, fields: dict[str, object], constraint: str) -> None:
    attempt = record.decision.attempt
    decision = decide_attempt(attempt, record.decision.decided_by, replaces=record.decision)
    with pytest.raises(IntegrityError, match=constraint), transaction.atomic():
        record_row(decision, **fields)  # type: ignore[arg-type]
    assert Record.objects.count() == 1


def test_one_first_record_a_decision(record: Record) -> None:
    with pytest.raises(IntegrityError, match="record_first_once"), transaction.atomic():
        record_row(record.decision)


def test_one_record_replaces_another(record: Record) -> None:
    record_row(record.decision, replaces=record)
    with pytest.raises(IntegrityError, match="replaces_id"), transaction.atomic():
        record_row(record.decision, replaces=record)


def test_a_wrong_number_holds_no_address(db: None) -> None:
    with pytest.raises(IntegrityError, match="wrong_number_source_form"), transaction.atomic():
        WrongNumber.objects.create(source="203.0.113.7")
