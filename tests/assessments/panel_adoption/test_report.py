"""The report as a PDF and the judgements as spreadsheets hold what the panel document holds.

Judges: page-validation for PDF/UA-1 (ISO 14289-1), Poppler's pdftotext, Python's csv, openpyxl.
"""

import csv
from io import BytesIO, StringIO
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse
from openpyxl import load_workbook
from page import validate_pdf_bytes

from assessments.actions.panel.adoption import adopt
from assessments.actions.sealing import seal_standard
from assessments.models import Judge, Panel
from tests.assessments.panel_adoption.world import (
    ADOPTED,
    ANGOFF,
    World,
    judge_says,
    make_panel,
    make_world,
    open_round,
    seat,
)
from tests.certificates.pdf.tools import run_on, text_of
from training.models import Person, Program

pytestmark = pytest.mark.django_db


@pytest.fixture
def world() -> World:
    return make_world(sense_check=True)


def sent(person: Person, panel: Panel, name: str, *more: str, query: str = "") -> Any:
    client = Client()
    client.force_login(person, backend="django.contrib.auth.backends.ModelBackend")
    return client.get(reverse(name, args=[panel.pk, *more]) + query)


def report(world: World, query: str = "") -> bytes:
    response = sent(world.lead, world.panel, "panel_report", query=query)
    assert (response.status_code, response["Content-Type"]) == (200, "application/pdf")
    content: bytes = response.content
    return content


def faults(pdf: bytes) -> list[str]:
    found = validate_pdf_bytes(pdf, profile="ua1")
    assert found.rules.total > 100
    return [f"{failure.rule_id}: {failure.message}" for failure in found.failures]


def test_the_report_of_a_sealed_standard(world: World) -> None:
    Judge.objects.filter(pk=world.judges[4].pk).update(interests="Taught two of the trainees")
    said = {**ADOPTED, "cut": "75 %", "reason": "The guild asks for 75 %."}
    adoption = adopt(actor=world.lead, panel=world.panel, **said)
    standard = seal_standard(actor=world.lead, program=world.program)
    pdf = report(world)
    text = text_of(pdf)
    assert "recommended a cut of 73.67 %; 75 % was adopted" in text
    assert "Standard error 2.31 %" in text
    assert "Modified Angoff; over the judges: mean. Use it before anybody" in text
    assert "Works alone on a plain ledge" in text
    for judge in world.judges:
        assert judge.person.full_name in text
    assert "Twenty years at the banker" in text
    assert "Taught two of the trainees" in text
    assert "Round 0, for training: it does not count" in text
    assert "We talked over the bed." in text
    # The first criterion as each judge entered it in the last round, in percent.
    row = " ".join(f"{float(estimates[0]) * 100:.0f}" for estimates in ANGOFF)
    assert f"Arris whole {row} " in text
    assert "Sense check" in text
    assert "nobody was assessed before on these criteria" in text
    assert "Critical criteria Cut wet" in text
    assert "Reason The guild asks for 75 %." in text
    assert "Odile Brandreth, who did not judge" in text
    assert f"Standard 1 was sealed with this panel by {world.lead}" in text
    together = text.replace(" ", "")
    assert standard.digest in together
    assert adoption.digest in together
    assert world.panel.judged_digest in together
    assert faults(pdf) == []
    assert "certified" not in text.lower()


def test_the_figures_of_the_report_are_those_of_the_document(
    world: World, caplog: pytest.LogCaptureFixture
) -> None:
    document = adopt(actor=world.lead, panel=world.panel, **ADOPTED).document
    text = text_of(report(world))
    sections = document["recommendation"]["sections"]
    assert [section["key"] for section in sections] == ["angoff", "movement", "sense_check"]
    for section in sections:
        assert " ".join(section["summary"].split()) in text
        for table in section["tables"]:
            assert table["title"] in text
    # The cut went from 50 % (3 of 6, worked out by hand) to 73.67 %.
    assert "The cut went up by 23.67 percentage points" in text
    assert caplog.text == ""  # WeasyPrint says there what it cannot print, or prints twice


def test_the_paper_is_that_of_the_program(world: World) -> None:
    def size(query: str = "") -> str:
        words = run_on(report(world, query), "pdfinfo", "FILE").split("Page size:")[1].split()
        return " ".join(words[:5])

    # ISO 216: A4 is 210 x 297 mm, 595.28 x 841.89 points; Letter is 612 x 792 points.
    assert size() == "612 x 792 pts (letter)"
    Program.objects.filter(pk=world.program.pk).update(unit="mm")
    assert size().startswith("595.276 x 841.89")
    assert size("?paper=letter") == "612 x 792 pts (letter)"
    wrong = sent(world.lead, world.panel, "panel_report", query="?paper=foolscap")
    assert wrong.status_code == 400
    assert "ask for letter or a4" in wrong.content.decode()


def test_before_adoption_the_report_says_so(world: World) -> None:
    text = text_of(report(world))
    assert "recommends a cut of 73.67 %. It is not adopted." in text
    assert "What was adopted" not in text
    assert "No standard is sealed with this panel yet." in text


def test_nothing_of_an_open_round_is_told(world: World) -> None:
    Panel.objects.update(state="abandoned", ended_because="Begun anew")
    panel = make_panel(world.program, world.lead)
    judge = seat(panel, world.lead, "Early judge")
    panel.judged_digest, panel.state = "0" * 64, Panel.State.JUDGING
    panel.save()
    judge_says(open_round(panel, 1, world.lead), judge, "bed", {"share": "0.4321"})
    told = sent(world.lead, panel, "panel_ratings", "csv").content.decode("utf-8-sig")
    assert "0.4321" not in told
    response = sent(world.lead, panel, "panel_report")
    text = text_of(response.content)
    assert "43.21" not in text
    assert "still open" in text
    assert faults(response.content) == []


def test_the_judgements_read_back_from_csv(world: World) -> None:
    first = world.judges[0]
    adopt(actor=world.lead, panel=world.panel, **ADOPTED)
    response = sent(world.lead, world.panel, "panel_ratings", "csv")
    assert response["Content-Type"] == "text/csv; charset=utf-8"
    assert 'filename="panel-LEDGE-1-1-ratings.csv"' in response["Content-Disposition"]
    rows = list(csv.reader(StringIO(response.content.decode("utf-8-sig"))))
    start = rows.index(["Round 2: share in %"])
    assert rows[start + 1] == ["What was judged", *(f"Judge {letter}" for letter in "ABCDE")]
    wanted = [[float(row[place]) * 100 for row in ANGOFF] for place in range(6)]
    got = [[float(cell) for cell in row[1:]] for row in rows[start + 2 : start + 8]]
    assert got == [pytest.approx(row) for row in wanted]
    start = rows.index(["All judgements"])
    end = rows.index([], start)
    everything = [dict(zip(rows[start + 1], row, strict=True)) for row in rows[start + 2 : end]]
    own = [row for row in everything if row["Judge"] == "Judge A" and row["Round"] == "2"]
    assert [row["Value"] for row in own if row["Kind"] == "criterion"] == [
        f"0{share}" for share in ANGOFF[0]
    ]
    assert first.person.full_name not in response.content.decode("utf-8-sig")


def test_the_judgements_read_back_from_xlsx(world: World) -> None:
    response = sent(world.lead, world.panel, "panel_ratings", "xlsx")
    book = load_workbook(BytesIO(response.content))
    sheet = book["Round 2 share in %"]
    rows = list(sheet.iter_rows(values_only=True))
    assert rows[0] == ("What was judged", *(f"Judge {letter}" for letter in "ABCDE"))
    assert [row[0] for row in rows[1:]] == [
        "Arris whole", "Bed full", "Face true", "Cut wet", "Joint even", "Left clean",
    ]  # fmt: skip
    for place, row in enumerate(rows[1:]):
        assert row[1:] == pytest.approx(tuple(float(each[place]) * 100 for each in ANGOFF))
    limits = list(book["Round 2 limits for the sense ch"].iter_rows(values_only=True))
    assert limits[1] == ("Lowest cut, %", 60, 60, 60, 60, 60)
