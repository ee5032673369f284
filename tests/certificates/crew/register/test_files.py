"""The register for a spreadsheet, read back with the library that reads such files."""

import csv
from datetime import date, datetime
from io import BytesIO, StringIO

import pytest
from django.test import Client
from django.urls import reverse
from openpyxl import load_workbook

from tests.certificates.crew.builders import course, crew_member, firm, record_for
from training.models import Organisation, Person

pytestmark = pytest.mark.django_db

# What a spreadsheet would run (OWASP, CSV injection), as somebody's name.
EVIL = '=HYPERLINK("http://example.org","Ilse")'


@pytest.fixture
def crew(client: Client) -> tuple[Organisation, Person]:
    """Return a contractor whose manager is signed in, with two masons, one of evil name."""
    organisation, manager = firm("Fettle & Daughters")
    program = course(continuity=(6, 30), title="Dutchman repair; limestone, sandstone")
    record_for(crew_member(organisation, EVIL), program, valid_until=date(2028, 2, 29))
    crew_member(organisation, "Noor Adriaanse")
    client.force_login(manager)
    return organisation, manager


def lines(answer: object) -> list[list[str]]:
    """Return the rows of a streamed CSV."""
    data = b"".join(answer.streaming_content)  # type: ignore[attr-defined]
    assert data.startswith(b"\xef\xbb\xbf")
    return list(csv.reader(StringIO(data.decode("utf-8-sig"), newline="")))


def test_csv_has_every_row_and_no_formula(
    crew: tuple[Organisation, Person], client: Client
) -> None:
    answer = client.get(reverse("crew_csv"), {"at": "2027-01-31"})
    assert answer.headers["Content-Disposition"] == 'attachment; filename="crew-2027-01-31.csv"'
    head, evil, bare = lines(answer)
    assert head[:3] == ["Name", "Employer", "Program"]
    assert evil[0] == f"'{EVIL}"
    assert evil[2] == "Dutchman repair; limestone, sandstone"
    assert evil[5:7] == ["Current", "yes"]
    assert evil[8:] == ["2026-11-10", "2028-02-29", "2027-05-10", "2027-06-09"]
    assert bare[0] == "Noor Adriaanse"
    assert bare[2:] == ["", "", "", "Nothing to show", "no", "", "", "", "", ""]


def test_xlsx_has_days_as_days_and_text_as_text(
    crew: tuple[Organisation, Person], client: Client
) -> None:
    answer = client.get(reverse("crew_xlsx"), {"at": "2027-01-31"})
    sheet = load_workbook(BytesIO(answer.content)).active
    assert sheet is not None
    title, head, evil, bare = list(sheet.iter_rows())
    assert title[0].value == "Crew of Fettle & Daughters, as at 31 January 2027"
    assert [cell.value for cell in head][-1] == "Counts until"
    assert (evil[0].value, evil[0].data_type, evil[0].quotePrefix) == (EVIL, "s", True)
    assert evil[9].value == datetime(2028, 2, 29)  # noqa: DTZ001 (what the library reads)
    assert (evil[9].is_date, evil[9].number_format) == (True, "yyyy-mm-dd")
    assert [cell.value for cell in bare][5:8] == ["Nothing to show", "no", None]


def test_files_keep_to_the_filter(crew: tuple[Organisation, Person], client: Client) -> None:
    only = {"text": "noor"}
    assert [row[0] for row in lines(client.get(reverse("crew_csv"), only))] == [
        "Name",
        "Noor Adriaanse",
    ]
    sheet = load_workbook(BytesIO(client.get(reverse("crew_xlsx"), only).content)).active
    assert sheet is not None
    assert sheet.max_row == 3
    for name in ("crew_csv", "crew_xlsx"):
        answer = client.get(reverse(name), {"standing": "brilliant"})
        assert (answer.status_code, "is not in this list" in answer.text) == (422, True)


def test_a_file_of_nobody_has_its_head_alone(client: Client, db: None) -> None:
    _, manager = firm()
    client.force_login(manager)
    assert len(lines(client.get(reverse("crew_csv")))) == 1
    sheet = load_workbook(BytesIO(client.get(reverse("crew_xlsx")).content)).active
    assert sheet is not None
    assert sheet.max_row == 2
