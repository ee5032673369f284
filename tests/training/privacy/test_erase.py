"""Export, then erase, then check that everything that was decided can still be proved."""

import hashlib
import io
import json
import zipfile
from pathlib import Path
from typing import Any

import pytest
from django.conf import settings
from django.db import connection
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from assessments.actions.attempts import start_attempt
from assessments.actions.decisions import decide_again
from assessments.models import PhotoBytes
from certificates.actions.issue import issue_record
from certificates.models import Record
from certificates.numbers import EXAMPLE
from certificates.recheck import differences
from certificates.record_document import build_record_document
from tests.assessments.builders import Yard, make_yard
from tests.assessments.site.pictures import jpeg
from tests.certificates.builders import ISSUED, decide_attempt, record_row
from tests.factories import enrol, make_person
from tests.training.privacy.world import ADDRESS, NAME, fill, picture, rename
from training.actions.erasure import erase_person
from training.actions.log import verify_log
from training.actions.runs import close_run
from training.digests import digest
from training.models import Consent, Erasure, LogEntry, Person
from training.privacy.export import archive, as_bytes


def told() -> dict[str, list[str]]:
    """Return, by table, the rows that have the name or address anywhere in them."""
    found = {}
    with connection.cursor() as cursor:
        for table in connection.introspection.table_names():
            name = connection.ops.quote_name(table)
            cursor.execute(
                f"SELECT to_jsonb(r)::text FROM {name} r "
                "WHERE to_jsonb(r)::text LIKE %s OR to_jsonb(r)::text LIKE %s",
                [f"%{NAME}%", f"%{ADDRESS}%"],
            )
            if rows := [row[0] for row in cursor.fetchall()]:
                found[table] = rows
    return found


def stored() -> set[str]:
    """Return the files in the storage."""
    root = Path(settings.MEDIA_ROOT)
    return {str(path.relative_to(root)) for path in root.rglob("*") if path.is_file()}


def opened(person: Person) -> tuple[dict[str, Any], zipfile.ZipFile]:
    """Return the data and the archive of an export."""
    packed = zipfile.ZipFile(io.BytesIO(b"".join(archive(person, now=timezone.now()))))
    assert packed.testzip() is None
    return json.loads(packed.read("data.json")), packed


def erase(yard: Yard, **changes: Any) -> Erasure:
    """Erase the trainee as the lead would."""
    values = {"typed_name": NAME, "reason": "Asked for it by letter.", "in_writing": True}
    return erase_person(actor=yard.lead, person=yard.trainee, **{**values, **changes})


@pytest.fixture
def held(db: None) -> tuple[Yard, Record, Record]:
    """Return a yard, the trainee's signed record, and another's."""
    yard = make_yard()
    rename(yard.trainee)
    other = enrol(yard.run, make_person("Ben Achterberg"))
    attempt = yard.attempt()
    fill(yard, attempt)
    record = issue_record(actor=yard.lead, decision=decide_attempt(attempt, yard.instructor))
    theirs = _another(yard, other)
    close_run(actor=yard.lead, run=yard.run)
    return yard, record, theirs


def _another(yard: Yard, enrolment: Any) -> Record:
    attempt = start_attempt(actor=yard.instructor, enrolment=enrolment)
    picture(attempt, yard.instructor, jpeg(90, 60))
    decision = decide_attempt(attempt, yard.instructor)
    document = build_record_document(
        decision=decision, number=EXAMPLE, issued_at=ISSUED, check_url="https://example.org/"
    )
    return record_row(decision, number=EXAMPLE, document=document, digest=digest(document))


def test_export_then_erase_then_verify(
    held: tuple[Yard, Record, Record],
    client: Client,
    django_capture_on_commit_callbacks: Any,
) -> None:
    yard, record, theirs = held
    before, packed = opened(yard.trainee)
    files = {entry["part"]: entry for entry in before["files"]}
    assert set(files) >= {"documents", "photographs", "score_sheets", "records"}
    for entry in before["files"]:
        assert hashlib.sha256(packed.read(entry["name"])).hexdigest() == entry["sha256"]
    assert files["records"]["sha256"] in (record.pdf_sha256, record.competency_sha256)
    (row,) = before["parts"]["records"]["rows"]
    assert row["document"]["holder"]["name"] == NAME
    assert before["parts"]["person"]["rows"][0]["email"] == ADDRESS
    was, signed = stored(), b"".join(packed.read(each["name"]) for each in before["files"])
    assert b"%PDF" in signed

    with django_capture_on_commit_callbacks(execute=True):
        erasure = erase(yard)

    # Proof: the log, every decision, and the records of others.
    assert verify_log() is None
    for each in (record, theirs):
        decision = Record.objects.get(pk=each.pk).decision
        again = {**decide_again(decision), "engine": ""}
        assert again == {**decision.document, "engine": ""}
        assert decision.result == "met"
    theirs.refresh_from_db()
    assert differences(theirs.document) == []
    assert theirs.document["holder"]["name"] == "Ben Achterberg"

    # The name is gone from every table, and from the storage every file of the person.
    assert told() == {}
    record.refresh_from_db()
    assert record.document["erased"] == erasure.pseudonym
    assert record.pdf_sha256 == row["pdf_sha256"]
    assert record.digest == row["digest"]
    gone = was - stored()
    assert {name.split("/")[0] for name in gone} == {
        "documents",
        "photographs",
        "paper-sheets",
        "records",
    }
    assert theirs.pdf.name in stored()
    assert PhotoBytes.objects.exclude(file="erased").count() == 1
    assert not Consent.objects.order_by("-pk")[0].given

    # The row keeps the digest of what was exported.
    parts = as_bytes(before["parts"])
    assert erasure.export_sha256 == hashlib.sha256(parts).hexdigest()
    entry = LogEntry.objects.latest("seq")
    assert (entry.verb, entry.data["pseudonym"]) == ("person.erased", erasure.pseudonym)
    _pages(yard, record, client)


def _pages(yard: Yard, record: Record, client: Client) -> None:
    """Look at every page that shows the person, as anybody and as the lead."""
    check = client.get(reverse("check_record", args=[record.number]))
    assert check.status_code == 410
    assert "erased at the holder" in check.text
    answer = client.get(reverse("check_record_json", args=[record.number]))
    assert (answer.status_code, answer.json()["status"]) == (410, "erased")
    assert client.get(reverse("check_credential", args=[record.number])).status_code == 410
    client.force_login(yard.lead)
    attempt = record.decision.attempt_id
    for name, args in (
        ("run", [yard.run.pk]),
        ("attempt", [attempt]),
        ("record_list", []),
        ("record", [record.number]),
        ("people", []),
        ("person", [yard.trainee.pk]),
        ("run_records", [yard.run.pk]),
    ):
        page = client.get(reverse(name, args=args))
        assert (name, page.status_code) == (name, 200)
        assert NAME not in page.text
    assert client.get(reverse("record_pdf", args=[record.number])).status_code == 410
