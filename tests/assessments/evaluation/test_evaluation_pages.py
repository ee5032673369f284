"""The pages of an evaluation, its PDF (PDF/UA-1, by page-validation) and its tables."""

import csv
from io import BytesIO, StringIO
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse
from openpyxl import load_workbook
from page import validate_pdf_bytes

from tests.assessments.builders import make_yard
from tests.assessments.evaluation.builders import another_run, answered, decided_on
from tests.certificates.pdf.tools import text_of
from tests.factories import enrol, make_organisation, make_person, make_program, make_role
from training.actions.complaints import make_complaint
from training.models import Person, Role

pytestmark = pytest.mark.django_db


def get(person: Person, name: str, *args: Any, **query: str) -> Any:
    client = Client()
    client.force_login(person, backend="django.contrib.auth.backends.ModelBackend")
    return client.get(reverse(name, args=args), query)


def test_the_page_and_tables_tell_the_same() -> None:
    yard = make_yard()
    run = another_run(yard)
    for rating in (2, 3, 4, 5):
        answered(enrol(run, make_person()), rating)
    decided_on(yard, run)
    make_complaint(actor=yard.trainee, run=yard.run, text="No rail in the bay.")
    page = get(yard.lead, "program_evaluation", yard.program.pk).content.decode()
    for said in ("1 of 1 assessed met", "Least agreement, 3.5 of 5", "1 complaint, of which 1"):
        assert said in page
    assert reverse("run_reactions", args=[run.pk]) in page
    assert "style=" not in page
    taught = get(yard.instructor, "program_evaluation", yard.program.pk).content.decode()
    assert "1 assessed met" in taught
    assert "complaint, of which" not in taught
    sent = get(yard.lead, "evaluation_tables", yard.program.pk, "csv").content.decode("utf-8-sig")
    rows = list(csv.reader(StringIO(sent)))
    assert any(row[1:9] == ["1", "5", "0", "1", "0", "0", "0", "4"] for row in rows)
    book = load_workbook(
        BytesIO(get(yard.lead, "evaluation_tables", yard.program.pk, "xlsx").content)
    )
    assert "Results by run" in book.sheetnames
    assert get(yard.lead, "evaluation_tables", yard.program.pk, "doc").status_code == 404


def test_the_pdf_is_tagged_and_names_no_trainee() -> None:
    yard = make_yard()
    decided = decided_on(yard, yard.run)
    response = get(yard.lead, "evaluation_pdf", yard.program.pk)
    assert response["Content-Type"] == "application/pdf"
    assert not validate_pdf_bytes(response.content, profile="ua1").failures
    text = text_of(response.content)
    assert "1 of 1 assessed met" in text
    assert decided.enrolment.person.full_name not in text
    assert get(yard.lead, "evaluation_pdf", yard.program.pk, paper="a9").status_code == 400


def test_a_program_without_runs_says_what_to_do() -> None:
    provider = make_organisation()
    lead = make_role(Role.Kind.LEAD, provider)
    program = make_program(provider)
    page = get(lead, "program_evaluation", program.pk).content.decode()
    assert "has not been run yet" in page
    assert f"{reverse('run_new')}?" in page or reverse("run_new") in page


@pytest.mark.parametrize(
    "name", ["program_evaluation", "evaluation_pdf", "evidence_file", "evidence_file_pdf"]
)
def test_trainees_and_strangers_find_nothing(name: str) -> None:
    yard = make_yard()
    for person in (yard.trainee, make_person()):
        assert get(person, name, yard.program.pk).status_code == 404
