"""The range of qualification on paper: short on the certificate, whole on the competency record."""

from io import BytesIO

import pikepdf
import pytest
from page import validate_pdf_bytes

from assessments.engine import decide
from assessments.engine.canonical import digest
from assessments.engine.qualification import stated_range
from certificates.rendering import Kind, render
from certificates.rendering.document import record_html
from tests.certificates.pdf.factory import (
    LONG_NAME,
    Document,
    make_observations,
    make_record,
    make_standard,
)
from tests.certificates.pdf.tools import text_of
from tests.engine.qualification import rules_document


def ranged(rules_changes: Document | None = None, **changes: object) -> Document:
    """A record under a standard with rules; keywords replace its members."""
    standard = make_standard()
    rules = rules_document(**(rules_changes or {}))
    rules["variables"][2] |= {"dimension": "opening_depth"}
    rules["renewal"]["stages"] = [standard["stages"][0]["key"]]
    standard["about"] = {"qualification": rules}
    members = {
        "standard": standard,
        "standard_digest": digest(standard),
        "decision": decide(standard, make_observations()),
        "range": stated_range(standard),
    }
    return make_record(**{**members, **changes})


@pytest.mark.parametrize("paper", ["letter", "a4"])
@pytest.mark.parametrize("name", ["Zdeněk Óskarsson", LONG_NAME])
def test_the_certificate_keeps_to_one_page_and_states_the_range(paper: str, name: str) -> None:
    pdf = render(ranged(holder={"name": name}), paper=paper)
    with pikepdf.open(BytesIO(pdf)) as opened:
        assert len(opened.pages) == 1
    text = text_of(pdf)
    for part in (
        "Range of qualification",
        "Position Sill and vertical face.",
        "Piece depth 1 1/2 in to 6 in.",
        "To confirm",
        "every 6 months; after a gap it no",
        "Who set these rules, and on what grounds: see the competency record.",
    ):
        assert part in text, part


def test_the_competency_record_gives_rules_and_grounds() -> None:
    text = text_of(render(ranged(), kind="competency"))
    stated = ranged()["range"]
    for part in (
        stated["basis"],
        stated["continuity"],
        stated["renewal"],
        *(row["rule"] for row in stated["rows"]),
        *(row["covers"] for row in stated["rows"]),
    ):
        assert part in text, part


@pytest.mark.parametrize(
    ("kind", "words"),
    [
        ("certificate", ["Range of qualification", "To confirm"]),
        ("competency", ["Range of qualification", "To confirm", "Continuity", "Renewal"]),
    ],
)
def test_a_record_without_a_range_says_nothing_of_one(kind: Kind, words: list[str]) -> None:
    plain = record_html(make_record(), paper="letter", kind=kind)
    with_range = record_html(ranged(), paper="letter", kind=kind)
    for word in words:
        assert word in with_range
        assert word not in plain


def test_without_continuity_there_is_nothing_to_confirm() -> None:
    html = record_html(ranged({"continuity": None}), paper="letter")
    assert "Range of qualification" in html
    assert "To confirm" not in html
    whole = record_html(ranged({"continuity": None}), paper="letter", kind="competency")
    assert "No confirmation is asked for: a record counts until its last day." in whole


def text_of_one_page(sentences: int) -> str:
    """Return what a certificate says whose scope is of so many sentences."""
    scope = "Cutting out, dry fitting and setting of one piece after another in one wall. "
    record = ranged()
    pdf = render(ranged(program={**record["program"], "scope": scope * sentences}))
    with pikepdf.open(BytesIO(pdf)) as opened:
        assert len(opened.pages) == 1
    return text_of(pdf)


def test_the_range_takes_the_place_of_the_conditions_where_both_do_not_fit() -> None:
    assert "Conditions assessed" in text_of_one_page(1)
    full = text_of_one_page(16)
    assert "Conditions assessed" not in full
    assert "Range of qualification" in full
    for row in ranged()["range"]["rows"]:
        assert row["covers"] in full, row["covers"]


def test_what_does_not_fit_at_all_is_left_to_the_competency_record() -> None:
    text = text_of_one_page(21)
    assert "beyond the conditions assessed stands in the competency record" in text


@pytest.mark.parametrize("profile", ["pdfa3u", "ua1"])
@pytest.mark.parametrize("kind", ["certificate", "competency"])
def test_both_documents_conform_with_a_range(kind: Kind, profile: str) -> None:
    report = validate_pdf_bytes(render(ranged(), kind=kind), profile=profile)
    assert report.rules.total > 100
    said = [f"{failure.rule_id}: {failure.message}" for failure in report.failures]
    # Only the signature, which is not here yet, may be missed.
    assert [line for line in said if "ignature" not in line] == []
