"""The pages of evidence, the report on paper (PDF/UA-1, by page-validation) and as tables."""

import csv
import json
import re
from contextlib import redirect_stdout
from datetime import timedelta
from io import BytesIO, StringIO
from pathlib import Path
from typing import Any

import lxml.html
import pikepdf
import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone
from openpyxl import load_workbook
from page import validate_pdf_bytes

from assessments.actions.evidence import make_evidence
from assessments.evidence.command import main
from assessments.evidence.results import Section, section_document
from assessments.models import EvidenceReport
from assessments.sections import figure_words, laid_out
from tests.assessments.builders import Yard, make_yard, score_all
from tests.assessments.evidence.cohorts import another, cohort_yard, decide
from tests.certificates.pdf.tools import text_of
from tests.factories import make_organisation, make_person, make_program, make_role
from tests.triggers import lifted
from training.models import Organisation, Person, Program, Role

pytestmark = pytest.mark.django_db


def browser(person: Person) -> Client:
    client = Client()
    client.force_login(person, backend="django.contrib.auth.backends.ModelBackend")
    return client


def get(person: Person, name: str, *args: Any, **query: str) -> Any:
    return browser(person).get(reverse(name, args=args), query)


def words(text: str) -> str:
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", text))


def page(person: Person, name: str, *args: Any) -> str:
    response = get(person, name, *args)
    assert response.status_code == 200
    return words(response.content.decode())


def make(yard: Yard) -> EvidenceReport:
    return make_evidence(actor=yard.lead, standard=yard.standard, samples=100)


def short(yard: Yard) -> EvidenceReport:
    """Return a report of one sentence, for what does not depend on its figures."""
    cohort = {"attempts": 1, "people": 1, "runs": 1, "assessors": 2, "double_scored": 1}
    days = {"decided_from": "2026-11-03", "decided_until": "2026-11-04"}
    return EvidenceReport.objects.create(
        standard=yard.standard,
        input_digest="0" * 64,
        digest="1" * 64,
        made_by=yard.lead,
        document={
            "schema": "bankermark/evidence/1",
            "samples": 100,
            "seed": 1,
            "made_with": {"numpy": "2"},
            "cohort": {**cohort, **days},
            "sections": [section_document(Section("one", "One", "It holds."))],
        },
    )


def test_before_any_attempt_it_says_what_to_do() -> None:
    yard = make_yard()
    shown = page(yard.lead, "evidence", yard.standard.pk)
    assert "Nothing is decided under this standard yet" in shown
    assert "let a second instructor score the same pieces" in shown
    assert "Make a report" not in shown


def test_a_lead_makes_a_report_with_one_button() -> None:
    yard = cohort_yard(2)
    shown = page(yard.lead, "evidence", yard.standard.pk)
    assert "2 attempts" in shown
    assert "takes some seconds" in shown
    assert "Make a report" in shown
    address = reverse("evidence_make", args=[yard.standard.pk])
    response = browser(yard.lead).post(address, follow=True)
    report = EvidenceReport.objects.get()
    assert response.redirect_chain == [(reverse("evidence_report", args=[report.pk]), 302)]
    shown = page(yard.lead, "evidence", yard.standard.pk)
    assert "0 attempts" in shown
    assert "Make a report" not in shown
    for section in report.document["sections"]:
        assert words(section["title"]) in shown
    again = browser(yard.lead).post(address, follow=True)
    assert "Nothing new since the newest report" in words(again.content.decode())
    assert EvidenceReport.objects.count() == 1
    assert browser(yard.lead).get(address).status_code == 405


def test_the_report_shows_every_figure_and_table() -> None:
    yard = cohort_yard(6)
    report = make(yard)
    shown = page(yard.lead, "evidence_report", report.pk)
    for text in ("6 attempts decided, of 6 trainees on 1 run", "2 assessors; 6 of the attempts"):
        assert text in shown
    for section in report.document["sections"]:
        for figure in section["figures"]:
            expected = figure.get("not_computed") or figure_words(figure)
            assert expected in html_words(shown), figure["key"]
        for table in section["tables"]:
            assert table["title"] in html_words(shown)
    assert report.digest in shown
    assert report.made_by.full_name in shown


def test_a_stranger_works_the_figures_out_again_from_the_scores(tmp_path: Path) -> None:
    yard = cohort_yard(6)
    report = make(yard)
    scores = get(yard.lead, "evidence_tables", report.pk, "json")
    path = tmp_path / "scores.json"
    path.write_bytes(scores.content)
    told = StringIO()
    with redirect_stdout(told):
        assert main([str(path), "--samples", "100"]) == 0
    assert json.loads(told.getvalue())["sections"] == report.document["sections"]


def test_what_is_to_be_done_is_open_and_the_rest_is_folded() -> None:
    yard = cohort_yard(6)
    response = get(yard.lead, "evidence_report", make(yard).pk)
    tree = lxml.html.document_fromstring(response.content.decode())
    captions = {
        str(table.findtext("caption")).strip(): bool(list(table.iterancestors("details")))
        for table in tree.iter("table")
    }
    assert captions["What to do"] is False
    assert captions["How hard each criterion was"] is True
    for section in tree.iter("section"):
        assert 1 <= len(section.findall("dl/div")) <= 4


def html_words(text: str) -> str:
    for entity, letter in (("&#x27;", "'"), ("&quot;", '"'), ("&lt;", "<"), ("&gt;", ">")):
        text = text.replace(entity, letter)
    return text.replace("&amp;", "&")


def test_earlier_reports_are_kept_and_listed() -> None:
    yard = cohort_yard(2)
    first = make(yard)
    with lifted("assessments_evidencereport"):
        EvidenceReport.objects.update(made_at=timezone.now() - timedelta(days=30))
    attempt = another(yard)
    score_all(attempt, yard.instructor)
    decide(yard, attempt)
    second = make(yard)
    shown = get(yard.lead, "evidence", yard.standard.pk).content.decode()
    assert "Earlier reports" in shown
    for report in (first, second):
        assert reverse("evidence_report", args=[report.pk]) in shown


def test_who_sees_and_who_makes_it() -> None:
    yard = make_yard()
    report = short(yard)
    stranger = make_role(Role.Kind.LEAD, make_organisation(Organisation.Kind.PROVIDER))
    for person, seen, made in [
        (yard.lead, 200, 302),
        (yard.instructor, 200, 403),
        (yard.trainee, 404, 404),
        (stranger, 404, 404),
        (make_role(Role.Kind.INSTRUCTOR, yard.provider), 404, 404),
        (make_person(), 404, 404),
    ]:
        assert get(person, "evidence", yard.standard.pk).status_code == seen
        for name in ("evidence_report", "evidence_pdf"):
            assert get(person, name, report.pk).status_code == seen
        assert get(person, "evidence_tables", report.pk, "csv").status_code == seen
        address = reverse("evidence_make", args=[yard.standard.pk])
        assert browser(person).post(address).status_code == made


def test_an_instructor_is_offered_no_button() -> None:
    yard = cohort_yard(2)
    shown = page(yard.instructor, "evidence", yard.standard.pk)
    assert "Make a report" not in shown
    assert "A training lead makes the report." in shown


def test_the_way_from_the_program_and_the_standard() -> None:
    yard = make_yard()
    link = reverse("evidence", args=[yard.standard.pk])
    for person in (yard.lead, yard.instructor):
        sealed = get(person, "sealed_standard", yard.standard.pk).content.decode()
        assert f'href="{link}"' in sealed
        program = get(person, "program", yard.program.pk).content.decode()
        onward = reverse("program_evidence", args=[yard.program.pk])
        assert f'href="{onward}"' in program
        assert browser(person).get(onward)["Location"] == link
    sealed = get(yard.trainee, "sealed_standard", yard.standard.pk).content.decode()
    assert link not in sealed
    assert get(yard.trainee, "program_evidence", yard.program.pk).status_code == 404
    bare = make_program(yard.provider)
    response = browser(yard.lead).get(reverse("program_evidence", args=[bare.pk]), follow=True)
    assert "No standard is sealed yet" in words(response.content.decode())


@pytest.mark.parametrize(
    ("unit", "query", "width"),
    [("in", {}, 612), ("mm", {}, 595.28), ("in", {"paper": "a4"}, 595.28)],
)
def test_the_paper_of_the_pdf(unit: str, query: dict[str, str], width: float) -> None:
    yard = make_yard()
    Program.objects.filter(pk=yard.program.pk).update(unit=unit)
    response = get(yard.lead, "evidence_pdf", short(yard).pk, **query)
    assert response["Content-Type"] == "application/pdf"
    with pikepdf.open(BytesIO(response.content)) as pdf:
        assert float(pdf.pages[0].mediabox[2]) == pytest.approx(width, abs=0.05)
    assert "3 Nov 2026 to 4 Nov 2026" in text_of(response.content)


def test_a_paper_that_there_is_not_is_refused() -> None:
    yard = make_yard()
    response = get(yard.lead, "evidence_pdf", short(yard).pk, paper="foolscap")
    assert response.status_code == 400
    assert "There is no paper “foolscap” here" in response.content.decode()


def test_the_pdf_conforms_and_says_what_the_page_says() -> None:
    yard = cohort_yard(6)
    report = make(yard)
    data = get(yard.lead, "evidence_pdf", report.pk).content
    found = validate_pdf_bytes(data, profile="ua1")
    assert found.rules.total > 100
    assert [f"{each.rule_id}: {each.message}" for each in found.failures] == []
    text = solid(text_of(data))
    assert solid(report.digest) in text
    for name in (yard.program.title, "6 attempts decided", yard.lead.full_name):
        assert solid(name) in text
    checked = 0
    for section in report.document["sections"]:
        assert solid(section["title"]) in text
        for figure in section["figures"]:
            expected = figure.get("not_computed") or figure_words(figure)
            assert solid(expected) in text, figure["key"]
            checked += 1
        for table in section["tables"]:
            for row in laid_out(table).rows:
                for cell in row:
                    # Cells of one row stand side by side: a long one is broken over lines.
                    assert all(word in text for word in cell.text.split()), cell.text
                    checked += 1
    assert checked > 20


def solid(text: str) -> str:
    """Return the text without what the setting of a line adds: spaces and line breaks."""
    return re.sub(r"\s+", "", text)


def test_trainees_and_assessors_are_not_named() -> None:
    yard = cohort_yard(3)
    report = make(yard)
    people = [each.person.full_name for each in yard.run.enrolments.select_related("person")]
    people += [each.full_name for each in yard.run.instructors.all()]
    shown = page(yard.lead, "evidence_report", report.pk)
    shown += text_of(get(yard.lead, "evidence_pdf", report.pk).content)
    # Word by word: “Mason 4” stands in “Mason 41”, the lead's own name.
    for name in people:
        assert not re.search(rf"{name}\b", shown)


def test_the_tables_for_a_spreadsheet() -> None:
    yard = cohort_yard(3)
    report = make(yard)
    sections = report.document["sections"]
    response = get(yard.lead, "evidence_tables", report.pk, "csv")
    assert response["Content-Type"] == "text/csv; charset=utf-8"
    assert ".csv" in response["Content-Disposition"]
    rows = list(csv.reader(StringIO(response.content.decode("utf-8-sig"), newline="")))
    for section in sections:
        for table in section["tables"]:
            assert [table["title"]] in rows
    book = load_workbook(BytesIO(get(yard.lead, "evidence_tables", report.pk, "xlsx").content))
    expected = sum(len(each["tables"]) + bool(each["figures"]) for each in sections)
    assert len(book.sheetnames) == expected
    assert get(yard.lead, "evidence_tables", report.pk, "ods").status_code == 404


def test_pages_cost_the_same_for_one_and_three_reports() -> None:
    yard = cohort_yard(1)
    client = browser(yard.lead)

    def cost(name: str, key: Any) -> int:
        with CaptureQueriesContext(connection) as queries:
            assert client.get(reverse(name, args=[key])).status_code == 200
        return len(queries)

    make(yard)
    one = cost("evidence", yard.standard.pk)
    for _ in range(2):
        attempt = another(yard)
        score_all(attempt, yard.instructor)
        decide(yard, attempt)
        make(yard)
    assert cost("evidence", yard.standard.pk) == one
