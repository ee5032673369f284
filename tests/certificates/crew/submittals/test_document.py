"""The document of a submittal, from the coverage of a project, and its signed PDF."""

import hashlib
import json
from datetime import UTC, datetime, timedelta
from io import BytesIO
from typing import Any

import pikepdf
import pytest
from page import validate_pdf_bytes
from pyhanko.pdf_utils.reader import PdfFileReader
from pyhanko.sign.validation import validate_pdf_signature
from pyhanko_certvalidator import ValidationContext

from certificates.coverage import Gap, Span
from certificates.keys import keystore_of, known_roots
from certificates.models import Submittal
from certificates.rendering import RenderingError
from certificates.signing import verdict, verify
from certificates.signing.attachment import SUBMITTAL_NAME
from certificates.signing.stamping import as_asn1
from certificates.submittal import finished, render_submittal
from certificates.submittal.document import gaps_of
from certificates.submittal.stored import read_as_submitted
from tests.certificates.crew.submittals.conftest import Works
from tests.certificates.pdf.tools import text_of

pytestmark = pytest.mark.usefixtures("as_printed")

WORDS = "A third mason is assessed on Friday."


def floats_in(value: object) -> list[float]:
    if isinstance(value, float):
        return [value]
    values = value.values() if isinstance(value, dict) else value if isinstance(value, list) else ()
    return [found for each in values for found in floats_in(each)]


def test_the_document_says_who_covers_what(works: Works) -> None:
    statement = works.statement()
    document = finished(
        statement,
        number=3,
        by="Mara Quill",
        at=datetime(2026, 11, 29, 17, 31, tzinfo=UTC),
        met_by={gap.key: WORDS for gap in statement.gaps},
    )
    (post,) = document["posts"]
    (row,) = post["covered_by"]
    assert (document["schema"], document["number"]) == ("bankermark/submittal/1", 3)
    # New York is five hours behind UTC in November (IANA time zone database).
    assert document["submitted_at"] == "2026-11-29T12:31:00-05:00"
    assert document["contractor"]["name"] == "Stray Ashlar Ltd"
    assert document["owner"]["name"] == works.owner.name
    assert {each["title"] for each in post["needs"]} == {"Position", "Depth of the piece"}
    assert (row["holder"], row["number"]) == ("Ana Ruiz", works.records[0].number)
    assert (row["word"], row["lead"]) == ("current", False)
    assert row["valid_until"] == str(works.records[0].valid_until)
    assert {each["key"] for each in row["range"]} == {"stone", "position", "depth"}
    assert row["spans"] == [{"first": post["starts_on"], "last": post["ends_on"]}]
    (gap,) = document["gaps"]
    assert (gap["posts"], gap["places"], gap["unfilled"]) == (["A"], 2, 1)
    assert gap["met_by"] == WORDS
    assert document["first_break"]["day"] == post["starts_on"]
    assert floats_in(document) == []
    assert statement.records == {works.records[0].pk}


def test_nobody_is_named_who_covers_nothing(works: Works) -> None:
    """A second mason fills the other place; a third one is not needed and is not told."""
    later = works.project.ends_on + timedelta(days=30)
    for name in ("Tom Bell", "Vera Stone"):
        works.add_mason(name, valid_until=later)
    statement = works.statement()
    named = {row["holder"] for post in statement.document["posts"] for row in post["covered_by"]}
    assert len(named) == 2
    assert len(statement.records) == 2
    assert statement.gaps == ()
    assert statement.document["first_break"] is None
    spare = ({"Ana Ruiz", "Tom Bell", "Vera Stone"} - named).pop()
    assert spare not in json.dumps(statement.document)


def test_what_lapses_is_told_with_its_first_day(works: Works) -> None:
    """A record ends in the middle: from the day after, two places are empty."""
    end = works.project.starts_on + timedelta(days=10)
    works.add_mason("Tom Bell", valid_until=end)
    document = works.statement().document
    assert document["first_break"]["day"] == (end + timedelta(days=1)).isoformat()
    assert [(span["places"], span["filled"]) for span in document["coverage"]] == [(2, 2), (2, 1)]


def test_a_gap_over_touching_spans_is_told_once() -> None:
    gap = Gap(("A",), 2, (), (), "Post A needs two masons; nobody is qualified for it.")
    other = Gap(("B",), 1, (), (), "Post B needs one mason; nobody is qualified for it.")
    day = datetime(2026, 12, 1, tzinfo=UTC).date()

    def span(first: int, last: int, *gaps: Gap) -> Span:
        days = (day + timedelta(days=first), day + timedelta(days=last))
        return Span(*days, 3, 0, gaps, {})

    found = gaps_of([span(0, 4, gap), span(5, 9, gap, other), span(10, 12), span(13, 13, gap)])
    told = [(each.sentence[5], [(a.day, b.day) for a, b in each.spans]) for each in found]
    assert told == [("A", [(1, 10), (14, 14)]), ("B", [(6, 10)])]
    assert len({each.key for each in found}) == 2


@pytest.fixture
def made(works: Works) -> Submittal:
    """Return the first submittal of the project."""
    return works.submit()


def verified(pdf: bytes, works: Works) -> verdict.Verdict:
    return verify(pdf, keystore_of(works.contractor).roots(), attached=SUBMITTAL_NAME)


def test_the_signed_file_conforms_and_is_the_contractors(works: Works, made: Submittal) -> None:
    """Judged by page-validation (ISO 19005-3, ISO 14289-1), pyHanko and pikepdf."""
    pdf = read_as_submitted(made)
    for profile in ("pdfa3u", "ua1"):
        report = validate_pdf_bytes(pdf, profile=profile)
        assert report.rules.total > 100
        assert [failure.rule_id for failure in report.failures] == []
    (signature,) = PdfFileReader(BytesIO(pdf)).embedded_signatures
    roots = [as_asn1(root) for root in keystore_of(works.contractor).roots()]
    context = ValidationContext(trust_roots=roots, allow_fetching=False)
    status = validate_pdf_signature(signature, context, skip_diff=True)
    assert (status.intact, status.valid, status.trusted) == (True, True, True)
    assert "Stray Ashlar Ltd, submittals" in signature.signer_cert.subject.human_friendly
    with pikepdf.open(BytesIO(pdf)) as opened:
        assert list(opened.attachments) == [SUBMITTAL_NAME]
        attached = opened.attachments[SUBMITTAL_NAME].get_file().read_bytes()
    assert hashlib.sha256(attached).hexdigest() == made.digest
    assert json.loads(attached) == made.document
    found = verified(pdf, works)
    assert found.genuine, found.faults
    assert found.record == made.document
    assert found.certificate_sha256 == made.certificate_sha256


def test_no_contractors_key_vouches_for_a_record(works: Works, made: Submittal) -> None:
    """What checks records trusts the roots of providers alone."""
    own = keystore_of(works.contractor).roots()
    assert own
    assert not set(own) & set(known_roots())
    assert verify(read_as_submitted(made), own).faults == [verdict.SUBMITTAL]


def test_every_flip_is_seen(works: Works, made: Submittal) -> None:
    pdf = read_as_submitted(made)
    places = [len(pdf) * part // 23 for part in range(1, 23)]
    for place in places:
        changed = bytearray(pdf)
        changed[place] ^= 0x20
        assert verified(bytes(changed), works).faults, place
    assert verified(pdf + b"\n", works).faults


def test_the_paper_says_what_the_document_says(works: Works, made: Submittal) -> None:
    text = text_of(read_as_submitted(made))
    number = works.records[0].number
    for said in ("Ana Ruiz", number, WORDS, "Sill stones", works.project.place, "Position: Sill"):
        assert said in text
    assert "certified" not in text.lower()


def test_many_posts_of_many_scripts_conform_on_a4(made: Submittal) -> None:
    document: dict[str, Any] = json.loads(json.dumps(made.document))
    row = document["posts"][0]["covered_by"][0]
    names = ["王小明", "محمد علي", "Siobhán Ó Dálaigh", "अनिता देशपांडे", "W" * 200]
    document["posts"] = [
        {**document["posts"][0], "code": f"P{at}", "covered_by": [{**row, "holder": name}]}
        for at, name in enumerate(names)
    ]
    pdf = render_submittal(document, paper="a4")
    assert pdf == render_submittal(document, paper="a4")
    for profile in ("pdfa3u", "ua1"):
        report = validate_pdf_bytes(pdf, profile=profile)
        assert [failure.rule_id for failure in report.failures] == []


def test_what_cannot_be_shown_is_refused_in_a_sentence(made: Submittal) -> None:
    with pytest.raises(RenderingError, match="lacks 'posts'"):
        render_submittal({k: v for k, v in made.document.items() if k != "posts"})
    with pytest.raises(RenderingError, match="no paper"):
        render_submittal(made.document, paper="a5")
