"""What a record says and how it prints."""

import json
import re
from io import BytesIO

import pikepdf
import pytest
import zxingcpp

from assessments.engine import decide
from assessments.engine.canonical import canonical, digest
from certificates.rendering import render
from tests.certificates.pdf.factory import (
    LONG_NAME,
    NUMBER,
    Document,
    make_observations,
    make_record,
    make_standard,
)
from tests.certificates.pdf.tools import picture_of, run_on, text_of

# Points of US Letter (ANSI/ASME Y14.1, size A) and A4 (ISO 216: 210 x 297 mm).
PAPERS = [("letter", 612.0, 792.0), ("a4", 595.28, 841.89)]


@pytest.mark.parametrize(("paper", "width", "height"), PAPERS)
def test_pages_have_the_size_of_the_paper(
    record: Document, paper: str, width: float, height: float
) -> None:
    with pikepdf.open(BytesIO(render(record, paper=paper))) as pdf:
        assert len(pdf.pages) == 4
        for page in pdf.pages:
            box = [float(edge) for edge in page.mediabox]
            assert box == pytest.approx([0, 0, width, height], abs=0.05)


def test_the_first_page_says_who_met_which_standard(signed: bytes, record: Document) -> None:
    text = text_of(signed, page=1)
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


def test_the_pages_never_call_a_person_certified(signed: bytes) -> None:
    text = text_of(signed)
    assert re.search(r"certified", text, re.IGNORECASE) is None
    assert re.findall(r"\bcertification\b", text) == ["certification"]


def test_the_following_pages_hold_every_criterion(signed: bytes, record: Document) -> None:
    text = text_of(signed)
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


def test_figures_are_described_in_words(unsigned: bytes) -> None:
    said = _alternatives(unsigned)
    assert len(said) == 6
    assert said[0].startswith("QR code that leads to https://records.example.org/check/")
    assert (
        "Width of the opening, seen by Imani Castellane. Each of 4 readings: 5 63/64 in" in said[1]
    )


def test_headers_say_that_they_stand_over_columns(unsigned: bytes) -> None:
    with pikepdf.open(BytesIO(unsigned)) as pdf:
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


@pytest.mark.parametrize("paper", ["letter", "a4"])
@pytest.mark.parametrize(("conditions", "page"), [(9, 1), (30, 2)])
def test_much_to_say_leaves_code_and_signature_on_the_first_page(
    record: Document, paper: str, conditions: int, page: int
) -> None:
    many = [
        {"name": f"Condition {number}", "value": f"What held on day {number} of the work"}
        for number in range(conditions)
    ]
    pdf = render({**record, "conditions": many}, paper=paper)
    first = text_of(pdf, page=1)
    assert "Signed electronically" in first
    assert record["check_url"] in first
    assert f"What held on day {conditions - 1} of the work" in text_of(pdf, page=page)
    assert ("all on page 2" in first) == (page == 2)


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
        )
    )
    text = text_of(pdf)
    assert text.count('Seen by Imani Castellane Readings: 6", 6 1/64", 6 1/64", 5 63/64".') == 1
    assert text.count('Seen by Tomasz Wieland Readings: 6", 6 1/64", 6 1/64", 5 63/64".') == 1
    assert "Accepted by Imani Castellane, Tomasz Wieland." in text
    assert len(_alternatives(pdf)) == 11


@pytest.mark.parametrize("paper", ["letter", "a4"])
def test_the_printed_code_leads_to_the_check(record: Document, paper: str) -> None:
    picture = picture_of(render(record, paper=paper), page=1)
    (code,) = zxingcpp.read_barcodes(picture)
    assert code.text == record["check_url"]


def test_the_page_prints_in_black_and_white(signed: bytes) -> None:
    """Nothing is lighter than 4.5 : 1 on white except hairlines and shading (WCAG 2.2, 1.4.3)."""
    colours = {
        tuple(round(float(part), 3) for part in match)
        for match in re.findall(rb"([\d.]+) ([\d.]+) ([\d.]+) rg", b"".join(_content(signed)))
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


def test_the_record_is_attached_in_canonical_form(signed: bytes, record: Document) -> None:
    attached = run_on(signed, "pdfdetach", "-list", "FILE")
    assert attached.split() == ["1", "embedded", "files", "1:", "record.json"]
    with pikepdf.open(BytesIO(signed)) as pdf:
        file = pdf.attachments["record.json"]
        data = file.get_file().read_bytes()
        assert file.obj.AFRelationship == "/Source"
        assert file.get_file().mime_type == "application/json"
    assert data == canonical(record)
    assert digest(json.loads(data)) == digest(record)


def test_every_font_is_embedded_and_mapped(signed: bytes) -> None:
    rows = run_on(signed, "pdffonts", "FILE").splitlines()[2:]
    assert len(rows) >= 6
    for row in rows:
        embedded, subset, unicode = row.split()[-5:-2]
        assert (embedded, subset, unicode) == ("yes", "yes", "yes"), row
        assert re.search(r"\+Source-S", row), row


def test_qpdf_finds_no_fault(signed: bytes) -> None:
    assert "No syntax or stream encoding errors found" in run_on(signed, "qpdf", "--check", "FILE")


def test_the_same_record_gives_the_same_bytes(record: Document, unsigned: bytes) -> None:
    assert render(record) == unsigned
    assert render(make_record(holder={"name": "Ana Lupu"})) != unsigned


def test_a_record_without_an_end_that_replaces_another(record: Document) -> None:
    pdf = render({**record, "valid_until": None, "replaces": "AAAA-BBBB-CCCC-DDDD"})
    text = text_of(pdf, page=1)
    assert "Valid until no end date" in text
    assert "Replaces record AAAA-BBBB-CCCC-DDDD" in text


def test_markup_in_a_name_is_text(record: Document) -> None:
    name = "<b>Ana</b> & {{ page.number }}"
    assert name in text_of(render({**record, "holder": {"name": name}}), page=1)
