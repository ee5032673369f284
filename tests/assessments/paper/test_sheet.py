"""The printed score sheet: who may print it, what it says, and that it conforms to PDF/UA.

The judge of PDF/UA-1 (ISO 14289-1) is page-validation; Poppler reads text and pictures,
zxing-cpp the code (ISO/IEC 18004); it has nothing of segno, which draws it.
"""

import re
from io import BytesIO
from typing import Any

import numpy as np
import pikepdf
import pytest
import zxingcpp
from django.conf import settings
from django.test import Client
from django.urls import reverse
from page import validate_pdf_bytes
from scipy import ndimage

from tests.assessments.builders import Yard, make_standard, score_all
from tests.certificates.pdf.tools import picture_of, text_of
from tests.factories import enrol, make_organisation, make_person, make_program, make_role, make_run
from training.models import Enrolment, Organisation, Person, Role

pytestmark = pytest.mark.django_db
LETTER, A4 = (612, 792), (595.28, 841.89)  # points: ANSI/ASME Y14.1, size A; ISO 216


def see(person: Person, name: str, pk: object, **query: str) -> Any:
    client = Client()
    client.force_login(person, backend="django.contrib.auth.backends.ModelBackend")
    return client.get(reverse(name, args=[pk]), query)


def pdf_of(person: Person, name: str, pk: object, **query: str) -> bytes:
    response = see(person, name, pk, **query)
    assert (response.status_code, response["Content-Type"]) == (200, "application/pdf")
    return bytes(response.content)


def test_who_prints_the_sheet_of_a_trainee(yard: Yard) -> None:
    contractor = make_role(Role.Kind.CONTRACTOR, make_organisation(Organisation.Kind.CONTRACTOR))
    stranger = make_role(Role.Kind.LEAD, make_organisation())
    people = (yard.lead, yard.instructor, yard.trainee, contractor, stranger)
    statuses = [see(each, "score_sheet_pdf", yard.enrolment.pk).status_code for each in people]
    assert statuses == [200, 200, 403, 404, 404]
    statuses = [see(each, "run_score_sheets", yard.run.pk).status_code for each in people]
    assert statuses == [200, 200, 404, 404, 404]


def test_the_sheet_conforms_to_pdf_ua(yard: Yard) -> None:
    report = validate_pdf_bytes(
        pdf_of(yard.lead, "score_sheet_pdf", yard.enrolment.pk), profile="ua1"
    )
    assert report.rules.total > 100
    assert [f"{failure.rule_id}: {failure.message}" for failure in report.failures] == []


def test_it_says_whose_it_is_and_what_each_criterion_needs(yard: Yard) -> None:
    attempt = yard.attempt()
    text = text_of(pdf_of(yard.instructor, "score_sheet_pdf", yard.enrolment.pk))
    for said in (
        str(yard.trainee),
        str(yard.run.site),
        f"attempt {attempt.number}, standard 1 ({yard.standard.digest[:12]})",
        "1/16 in to 3/16 in",
        "Read with: feeler gauge.",
        "Joint closed, hollow spots left",
        "How many",
        "Start: day, time",
        "Does not apply, because",
        "Hold point: stop here",
        "Signature, time",
        "Local codes and licensed practice come first. Anybody may stop the work.",
        "Page 1 of ",
    ):
        assert said in text, said
    order = [text.index(f"Criterion C{number}") for number in range(1, 6)]
    assert order == sorted(order)
    assert text.index("Criterion C2") < text.index("stop here") < text.index("Criterion C3")


def test_a_limit_that_is_a_formula_is_worked_out(yard: Yard) -> None:
    document = yard.standard.document
    document["criteria"][1]["limits"] = {"lower": None, "upper": "opening_width / 4"}
    make_standard(yard.program, criteria=document["criteria"])
    text = text_of(pdf_of(yard.lead, "score_sheet_pdf", yard.enrolment.pk))
    assert "1 1/2 in or less" in text  # 6 in / 4
    assert "opening_width" not in text


def test_a_run_gives_everybody_a_sheet_who_has_not_met_the_standard(yard: Yard) -> None:
    other = enrol(yard.run, make_person("Wynn Halloway")).person
    gone = enrol(yard.run, make_person("Perrin Ashdown"))
    Enrolment.objects.filter(pk=gone.pk).update(state=Enrolment.State.WITHDRAWN)
    whole = text_of(pdf_of(yard.lead, "run_score_sheets", yard.run.pk))
    assert str(yard.trainee) in whole
    assert str(other) in whole
    assert str(gone.person) not in whole
    assert str(other) not in text_of(pdf_of(yard.lead, "score_sheet_pdf", yard.enrolment.pk))


def test_each_sheet_of_a_run_begins_on_a_page_of_its_own(yard: Yard) -> None:
    other = enrol(yard.run, make_person("Wynn Halloway")).person
    data = pdf_of(yard.lead, "run_score_sheets", yard.run.pk)
    with pikepdf.open(BytesIO(data)) as pdf:
        count = len(pdf.pages)
    pages = [text_of(data, page=number) for number in range(1, count + 1)]
    assert all((str(yard.trainee) in page) != (str(other) in page) for page in pages)


def test_the_pages_of_each_sheet_of_a_run_are_numbered_by_themselves(yard: Yard) -> None:
    alone = pdf_of(yard.lead, "score_sheet_pdf", yard.enrolment.pk)
    with pikepdf.open(BytesIO(alone)) as pdf:
        count = len(pdf.pages)
    enrol(yard.run, make_person("Wynn Halloway"))
    data = pdf_of(yard.lead, "run_score_sheets", yard.run.pk)
    pages = [text_of(data, page=number) for number in range(1, 2 * count + 1)]
    told = [re.findall(r"Page (\d+) of (\d+)", page) for page in pages]
    assert told == 2 * [[(str(number), str(count))] for number in range(1, count + 1)]


def test_what_was_scored_is_not_on_the_sheet(yard: Yard) -> None:
    before = text_of(pdf_of(yard.lead, "score_sheet_pdf", yard.enrolment.pk))
    attempt = yard.attempt()
    score_all(attempt, yard.instructor)
    after = text_of(pdf_of(yard.lead, "score_sheet_pdf", yard.enrolment.pk))
    assert str(yard.instructor) not in after
    assert after.count("1/8") == before.count("1/8")


@pytest.mark.parametrize(
    ("unit", "asked", "size"),
    [("in", None, LETTER), ("mm", None, A4), ("in", "a4", A4), ("mm", "letter", LETTER)],
)
def test_the_paper(yard: Yard, unit: str, asked: str | None, size: tuple[float, float]) -> None:
    yard.program.unit = unit
    yard.program.save()
    query = {"paper": asked} if asked else {}
    data = pdf_of(yard.lead, "score_sheet_pdf", yard.enrolment.pk, **query)
    with pikepdf.open(BytesIO(data)) as pdf:
        box = [float(edge) for edge in pdf.pages[0].mediabox]
    assert box == pytest.approx([0, 0, *size], abs=0.05)


def test_a_paper_that_there_is_not_is_told_on_the_page_of_the_run(yard: Yard) -> None:
    response = see(yard.lead, "score_sheet_pdf", yard.enrolment.pk, paper="a3")
    assert response["Location"] == reverse("run", args=[yard.run.pk])


def test_without_a_sealed_standard_there_is_no_sheet(yard: Yard) -> None:
    run = make_run(make_program(yard.provider))
    place = enrol(run, make_person())
    for name, pk in (("run_score_sheets", run.pk), ("score_sheet_pdf", place.pk)):
        assert see(yard.lead, name, pk)["Location"] == reverse("run", args=[run.pk])


def test_the_boxes_are_big_enough_for_a_pencil_in_a_glove(yard: Yard) -> None:
    """No box is lower than 9 mm: white regions with a line around them, as the page prints."""
    data = pdf_of(yard.lead, "score_sheet_pdf", yard.enrolment.pk)
    with pikepdf.open(BytesIO(data)) as pdf:
        count = len(pdf.pages)
    boxes = [size for number in range(1, count + 1) for size in framed(data, number)]
    # Narrower ones belong to letters and to the code, wider ones to the frame of a hold point.
    heights = [height for width, height in boxes if 7.5 < width < 100 and height > 5]
    # C1: 3 levels; C2: 2 readings; C3: yes, no; C4: count, not applicable; C5: start, end;
    # the hold point: accepted, not accepted.
    assert len(heights) == 3 + 2 + 2 + 2 + 2 + 2
    line = 2 * 0.9 * 25.4 / 72 + 0.1  # both lines, 0.9 pt each, and one dot of the picture
    assert min(heights) >= 9 - line


def framed(data: bytes, page: int) -> list[tuple[float, float]]:
    """Width and height, in mm, of every white region of a page but the page itself."""
    picture = np.asarray(picture_of(data, page=page, dpi=254).convert("L"))  # ten dots a mm
    regions, _ = ndimage.label(picture > 200)
    found = []
    for rows, columns in ndimage.find_objects(regions):
        in_code = page == 1 and rows.start < 600  # the code and the lines beside it
        if rows.start > 0 and not in_code:
            found.append(((columns.stop - columns.start) / 10, (rows.stop - rows.start) / 10))
    return found


def test_the_code_leads_to_where_the_sheet_is_keyed_in(yard: Yard) -> None:
    attempt = yard.attempt()
    data = pdf_of(yard.lead, "score_sheet_pdf", yard.enrolment.pk)
    (code,) = zxingcpp.read_barcodes(picture_of(data, page=1))
    assert code.text == f"{settings.BASE_URL}{reverse('attempt_paper', args=[attempt.pk])}"


def test_the_code_of_a_sheet_printed_before_the_attempt_leads_on(yard: Yard) -> None:
    data = pdf_of(yard.lead, "score_sheet_pdf", yard.enrolment.pk)
    (code,) = zxingcpp.read_barcodes(picture_of(data, page=1))
    place = yard.enrolment.pk
    assert code.text == f"{settings.BASE_URL}{reverse('enrolment_paper', args=[place])}"
    response = see(yard.instructor, "enrolment_paper", place)
    assert response["Location"] == reverse("run", args=[yard.run.pk])
    attempt = yard.attempt()
    response = see(yard.instructor, "enrolment_paper", place)
    assert response["Location"] == reverse("attempt_paper", args=[attempt.pk])
    assert see(yard.trainee, "enrolment_paper", place).status_code == 403
