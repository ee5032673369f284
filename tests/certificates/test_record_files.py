"""The button that issues a record, and its files as they are offered and sent."""

from pathlib import Path

import pytest
from django.test import Client
from django.urls import reverse

from assessments.models import Decision
from certificates.actions.issue import issue_record
from certificates.models import Record
from certificates.rendering import CERTIFICATE, COMPETENCY
from certificates.stored import read_as_issued
from tests.assessments.builders import Yard, make_yard
from tests.certificates.builders import file_of, record_row
from tests.factories import make_person


def test_the_button_issues_and_goes_back_to_the_run(
    yard: Yard, decision: Decision, client: Client
) -> None:
    client.force_login(yard.lead)
    address = reverse("record_issue", args=[decision.pk])
    assert client.get(address).status_code == 405
    response = client.post(address)
    assert response["Location"] == reverse("run", args=[yard.run.pk])
    record = Record.objects.get()
    file = client.get(reverse("record_pdf", args=[record.number]))
    assert file["Content-Type"] == "application/pdf"
    name = f"{yard.program.code}-certificate-{record.number}.pdf"
    assert file["Content-Disposition"] == f'attachment; filename="{name}"'
    assert b"".join(file.streaming_content) == file_of(record)  # type: ignore[attr-defined]
    assert "no-store" in file["Cache-Control"]


def test_both_documents_are_offered_and_sent(
    yard: Yard, decision: Decision, client: Client
) -> None:
    record = issue_record(actor=yard.lead, decision=decision)
    client.force_login(yard.trainee)
    page = client.get(reverse("record_list")).content.decode()
    for name, kind in (("record_pdf", CERTIFICATE), ("record_competency", COMPETENCY)):
        address = reverse(name, args=[record.number])
        assert f'href="{address}"' in page
        file = client.get(address)
        assert f"{yard.program.code}-{kind}-{record.number}.pdf" in file["Content-Disposition"]
        sent = b"".join(file.streaming_content)  # type: ignore[attr-defined]
        assert sent == read_as_issued(record, kind)


def test_a_record_of_one_file_stays_as_it_was(
    yard: Yard, decision: Decision, client: Client
) -> None:
    """Records from before there were two documents have both of them in one PDF."""
    record = record_row(decision)
    client.force_login(yard.lead)
    page = client.get(reverse("record_list")).content.decode()
    assert "Get the PDF" in page
    assert reverse("record_competency", args=[record.number]) not in page
    assert client.get(reverse("record_competency", args=[record.number])).status_code == 404
    file = client.get(reverse("record_pdf", args=[record.number]))
    assert f"{yard.program.code}-record-{record.number}.pdf" in file["Content-Disposition"]
    assert b"".join(file.streaming_content) == file_of(record)  # type: ignore[attr-defined]


@pytest.mark.parametrize("damage", [b"", b"%PDF-1.7 of another"])
def test_a_competency_record_that_is_not_as_issued_is_not_sent(
    yard: Yard, decision: Decision, client: Client, damage: bytes
) -> None:
    record = issue_record(actor=yard.lead, decision=decision)
    path = Path(record.competency.path)
    path.unlink()
    if damage:
        path.write_bytes(damage)
    client.force_login(yard.lead)
    answer = client.get(reverse("record_competency", args=[record.number]))
    assert answer.status_code == 503
    assert ("changed afterwards" if damage else "cannot be read") in answer.content.decode()
    assert client.get(reverse("record_pdf", args=[record.number])).status_code == 200


@pytest.mark.parametrize(("who", "status"), [("trainee", 403), ("stranger", 404), ("other", 404)])
def test_the_button_for_others(
    yard: Yard, decision: Decision, client: Client, who: str, status: int
) -> None:
    people = {"trainee": yard.trainee, "stranger": make_person(), "other": make_yard().lead}
    client.force_login(people[who])
    assert client.post(reverse("record_issue", args=[decision.pk])).status_code == status
    assert not Record.objects.exists()
