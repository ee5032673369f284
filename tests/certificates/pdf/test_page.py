"""What a record says and how it prints."""

import json
import re
from io import BytesIO

import pikepdf
import pytest
import zxingcpp

from assessments.engine import decide
from assessments.engine.canonical import canonical, digest
from certificates.rendering import Kind, render
from tests.certificates.pdf.factory import (
    LONG_NAME,
    NUMBER,
    Document,
    make_observations,
    make_record,
    make_standard,
)
from tests.certificates.pdf.tools import picture_of, run_on, text_of
from tests.faults.marks import rows_at_length

# Points of US Letter (ANSI/ASME Y14.1, size A) and A4 (ISO 216: 210 x 297 mm).
PAPERS = [("letter", 612.0, 792.0), ("a4", 595.28, 841.89)]


@pytest.mark.parametrize(("paper", "width", "height"), PAPERS)
@pytest.mark.parametrize(("kind", "pages"), [("certificate", 1), ("competency", 4)])
def test_pages_have_the_size_of_the_paper(
    record: Document, paper: str, width: float, height: float, kind: Kind, pages: int
) -> None:
    with pikepdf.open(BytesIO(render(record, kind=kind, paper=paper))) as pdf:
        assert len(pdf.pages) == pages
        for page in pdf.pages:
            box = [float(edge) for edge in page.mediabox]
            assert box == pytest.approx([0, 0, width, height], abs=0.05)


@pytest.mark.parametrize("document", ["signed", "signed_competency"])
def test_each_document_says_who_met_which_standard(
    record: Document, document: str, request: pytest.FixtureRequest
) -> None:
    text = text_of(request.getfixturevalue(document))
    for part in (
        LONG_NAME,
        NUMBER,
        "met the passing standard of the program",
        "Dutchman repair in sandstone sills and jambs",
        "DUTCHMAN 2.1",
        record["standard_digest"],
        "sealed August 30, 2026, 09:15 UTC-04:00",
        "Fennimore sandstone, medium grained, bed horizontal",
        "Issued September 28, 2026",
        "Valid until September 28, 2029",
        "Ashlar Row Training Yard",
        record["check_url"],
        "It is not a certification of persons and not a license.",
        "Local codes and licensed practice govern the work.",
    ):
        assert part in text
    for outcome in record["outcomes"]:
        assert outcome["statement"] in text


@pytest.mark.parametrize("document", ["signed", "signed_competency"])
def test_the_pages_never_call_a_person_certified(
    document: str, request: pytest.FixtureRequest
) -> None:
    text = text_of(request.getfixturevalue(document))
    assert re.search(r"certified", text, re.IGNORECASE) is None
    assert re.findall(r"\bcertification\b", text) == ["certification"]


def test_the_competency_record_holds_every_criterion(
    signed_competency: bytes, record: Document
) -> None:
    text = text_of(signed_competency)
    assert text.count("Competency record") == 1
    for criterion in record["standard"]["criteria"]:
        assert criterion["title"] in text
    for sentence in record["decision"]["reasons"]:
        assert sentence in text
    assert "Level 2 of 3 or higher: Edges straight," in text
    assert 'Readings: 6", 6 1/64", 6 1/64", 5 63/64".' in text
    assert "Accepted by Imani Castellane." in text
    assert "Left proud on purpose" in text
    assert "Not applicable: No drip on this sill." in text
    # The reading that was corrected is in the attachment alone.
    assert '3/4", Left' not in text
    assert 'Readings: 1/32", 1/32", 3/64".' in text


def test_figures_are_described_in_words(unsigned: bytes, competency: bytes) -> None:
    (code,) = _alternatives(unsigned)
    assert code.startswith("QR code that leads to https://records.example.org/check/")
    said = _alternatives(competency)
    assert len(said) == 6
    assert code in said
    assert any(
        "Width of the opening, seen by Imani Castellane. Each of 4 readings: 5 63/64 in" in one
        for one in said
    )


@pytest.mark.parametrize("document", ["unsigned", "competency"])
def test_headers_say_that_they_stand_over_columns(
    document: str, request: pytest.FixtureRequest
) -> None:
    with pikepdf.open(BytesIO(request.getfixturevalue(document))) as pdf:
        headers = [
            str(thing.A.Scope)
            for thing in pdf.objects
            if isinstance(thing, pikepdf.Dictionary) and thing.get("/S") == "/TH"
        ]
    assert headers == ["/Column"] * 3


def _alternatives(data: bytes) -> list[str]:
    with pikepdf.open(BytesIO(data)) as pdf:
        return [
            str(thing["/Alt"])
            for thing in pdf.objects
            if isinstance(thing, pikepdf.Dictionary) and thing.get("/S") == "/Figure"
        ]


@pytest.mark.parametrize(
    ("paper", "conditions", "outcomes", "told"),
    [
        ("letter", 9, 3, "both"),
        ("a4", 30, 3, "outcomes"),
        ("letter", 30, 40, "neither"),
        *rows_at_length(
            ("a4", 9, 3, "both"), ("letter", 30, 3, "outcomes"), ("a4", 30, 40, "neither")
        ),
    ],
)
def test_the_certificate_stays_on_one_page(
    record: Document, paper: str, conditions: int, outcomes: int, told: str
) -> None:
    """What it cannot hold is left to the competency record, and it says so."""
    held = [
        {"name": f"Condition {number}", "value": f"What held on day {number} of the work"}
        for number in range(conditions)
    ]
    many = [
        {**record["outcomes"][0], "statement": f"{record['outcomes'][0]['statement']} {number}"}
        for number in range(outcomes)
    ]
    much = {**record, "conditions": held, "outcomes": many}
    pdf, whole = render(much, paper=paper), text_of(render(much, kind="competency", paper=paper))
    with pikepdf.open(BytesIO(pdf)) as opened:
        assert len(opened.pages) == 1
    text = text_of(pdf)
    for part in ("Signed electronically", record["check_url"], LONG_NAME, "met the passing"):
        assert part in text
    last_condition, last_outcome = held[-1]["value"], many[-1]["statement"]
    assert last_condition in whole
    assert last_outcome in whole
    assert (last_condition in text) == (told == "both")
    assert ("all in the competency record" in text) == (told != "both")
    assert (last_outcome in text) == (told != "neither")
    assert (record["program"]["scope"] in text) == (told != "neither")
    assert ("stand in the competency record of the same number" in text) == (told == "neither")


def test_what_two_assessors_saw_stands_side_by_side() -> None:
    standard, observations = make_standard(), make_observations()
    standard["pass_rule"]["assessors"] = {"required": 2, "combine": "lower"}
    observations["observations"] += [
        {**row, "id": f"{row['id']}-2", "assessor": "a2", "replaces": None, "note": ""}
        for row in observations["observations"]
        if row["id"] != "slip"
    ]
    decision = decide(standard, observations)
    assert decision["result"] == "met"
    pdf = render(
        make_record(
            standard=standard,
            standard_digest=digest(standard),
            observations=observations,
            decision=decision,
        ),
        kind="competency",
    )
    text = text_of(pdf)
    assert text.count('Seen by Imani Castellane Readings: 6", 6 1/64", 6 1/64", 5 63/64".') == 1
    assert text.count('Seen by Tomasz Wieland Readings: 6", 6 1/64", 6 1/64", 5 63/64".') == 1
    assert "Accepted by Imani Castellane, Tomasz Wieland." in text
    assert len(_alternatives(pdf)) == 11


@pytest.mark.parametrize("paper", ["letter", "a4"])
@pytest.mark.parametrize("kind", ["certificate", "competency"])
def test_the_printed_code_leads_to_the_check(record: Document, paper: str, kind: Kind) -> None:
    picture = picture_of(render(record, kind=kind, paper=paper), page=1)
    (code,) = zxingcpp.read_barcodes(picture)
    assert code.text == record["check_url"]


def test_the_pages_print_in_black_and_white(signed: bytes, signed_competency: bytes) -> None:
    """Nothing is lighter than 4.5 : 1 on white except hairlines and shading (WCAG 2.2, 1.4.3)."""
    colours = {
        tuple(round(float(part), 3) for part in match)
        for match in re.findall(
            rb"([\d.]+) ([\d.]+) ([\d.]+) rg",
            b"".join(_content(signed) + _content(signed_competency)),
        )
    }
    paper, shading, hairline = (1, 1, 1), (0.851, 0.851, 0.851), (0.604, 0.631, 0.608)
    inks = colours - {paper, shading, hairline}
    assert len(inks) == 4
    assert all(1.05 / (_luminance(colour) + 0.05) >= 4.5 for colour in inks)


def _content(data: bytes) -> list[bytes]:
    with pikepdf.open(BytesIO(data)) as pdf:
        return [page.Contents.read_bytes() for page in pdf.pages]


def _luminance(colour: tuple[float, ...]) -> float:
    red, green, blue = (
        part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in colour
    )
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


@pytest.mark.parametrize("document", ["signed", "signed_competency"])
def test_the_record_is_attached_in_canonical_form(
    record: Document, document: str, request: pytest.FixtureRequest
) -> None:
    signed = request.getfixturevalue(document)
    attached = run_on(signed, "pdfdetach", "-list", "FILE")
    assert attached.split() == ["1", "embedded", "files", "1:", "record.json"]
    with pikepdf.open(BytesIO(signed)) as pdf:
        file = pdf.attachments["record.json"]
        data = file.get_file().read_bytes()
        assert file.obj.AFRelationship == "/Source"
        assert file.get_file().mime_type == "application/json"
    assert data == canonical(record)
    assert digest(json.loads(data)) == digest(record)


@pytest.mark.parametrize("document", ["signed", "signed_competency"])
def test_every_font_is_embedded_and_mapped(document: str, request: pytest.FixtureRequest) -> None:
    signed = request.getfixturevalue(document)
    rows = run_on(signed, "pdffonts", "FILE").splitlines()[2:]
    assert len(rows) >= 6
    for row in rows:
        embedded, subset, unicode = row.split()[-5:-2]
        assert (embedded, subset, unicode) == ("yes", "yes", "yes"), row
        assert re.search(r"\+Source-S", row), row


@pytest.mark.parametrize("document", ["signed", "signed_competency"])
def test_qpdf_finds_no_fault(document: str, request: pytest.FixtureRequest) -> None:
    signed = request.getfixturevalue(document)
    assert "No syntax or stream encoding errors found" in run_on(signed, "qpdf", "--check", "FILE")


def test_the_same_record_gives_the_same_bytes(
    record: Document, unsigned: bytes, competency: bytes
) -> None:
    assert render(record) == unsigned
    assert render(record, kind="competency") == competency
    assert render(make_record(holder={"name": "Ana Lupu"})) != unsigned


def test_a_record_without_an_end_that_replaces_another(record: Document) -> None:
    pdf = render({**record, "valid_until": None, "replaces": "AAAA-BBBB-CCCC-DDDD"})
    text = text_of(pdf, page=1)
    assert "Valid until no end date" in text
    assert "Replaces record AAAA-BBBB-CCCC-DDDD" in text


def test_markup_in_a_name_is_text(record: Document) -> None:
    name = "<b>Ana</b> & {{ page.number }}"
    assert name in text_of(render({**record, "holder": {"name": name}}), page=1)
