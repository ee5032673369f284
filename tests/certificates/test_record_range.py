"""The range that a record states: that of its standard, compared when the record is rechecked."""

import copy
from collections.abc import Callable
from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from assessments.engine.qualification import range_of
from certificates.actions.issue import issue_record
from certificates.queries.ranges import rules_of
from certificates.recheck import differences
from certificates.record_document import build_record_document
from tests.assessments.builders import make_standard, make_yard
from tests.certificates.builders import ISSUED, met_decision
from tests.certificates.ranged import ABOUT
from tests.factories import make_organisation, make_program
from training.digests import digest

pytestmark = pytest.mark.django_db

Document = dict[str, Any]


def record(**changes: object) -> Document:
    """Return the record of a trainee who met a standard with ``changes``."""
    return build_record_document(
        decision=met_decision(make_yard(**changes)),
        number="AAAA-AAAA-AAAA",
        issued_at=ISSUED,
        check_url="https://example.org",
    )


def test_a_record_states_the_range_of_its_standard() -> None:
    document = record(about=ABOUT)
    stated = document["range"]
    assert [(row["title"], row["covers"]) for row in stated["rows"]] == [
        ("Position", "Sill and vertical face."),
        ("Stone", "Sandstone and limestone."),
        ("Width", "3 in to 12 in."),  # half and twice the opening of 6 in
    ]
    assert stated["basis"] == "Set by the author of the program."
    assert "every 6 months" in stated["continuity"]
    assert "“Dry fit” and “Setting”" in stated["renewal"]
    assert differences(document) == []


@pytest.mark.parametrize("changes", [{}, {"about": {}}, {"about": {"task": {"title": "One"}}}])
def test_a_record_under_an_older_seal_states_none(changes: dict[str, object]) -> None:
    document = record(**changes)
    assert "range" not in document
    assert differences(document) == []


def wider(document: Document) -> None:
    document["range"]["rows"][0]["covers"] = "Sill, vertical face and soffit."


def softer(document: Document) -> None:
    document["range"]["continuity"] = "No confirmation is asked for."


def left_out(document: Document) -> None:
    del document["range"]


def nothing(document: Document) -> None:
    document["range"] = None


def broken_rules(document: Document) -> None:
    document["standard"]["about"]["qualification"]["variables"][0]["assessed"] = "arch"


@pytest.mark.parametrize(
    ("change", "said"),
    [
        (wider, "the range on the record is not the one"),
        (softer, "the range on the record is not the one"),
        (nothing, "the range on the record is not the one"),
        (left_out, "the record leaves out the range"),
        (broken_rules, "the range of the record cannot be worked out again: about.qualification"),
    ],
)
def test_a_changed_range_shows(change: Callable[[Document], None], said: str) -> None:
    document = copy.deepcopy(record(about=ABOUT))
    change(document)
    assert said in " ".join(differences(document))


def test_a_range_without_rules_shows() -> None:
    document = record() | {"range": record(about=ABOUT)["range"]}
    assert differences(document) == [
        "the record states a range, and the standard has no rules for one"
    ]


def test_rules_of_many_standards_take_one_query() -> None:
    program = make_program(make_organisation())
    first = make_standard(program, about=ABOUT)
    second = make_standard(program)
    third = make_standard(program, about={"task": {}})
    for some in ([first.pk], [first.pk, second.pk, third.pk, first.pk]):
        with CaptureQueriesContext(
            connection,
        ) as queries:
            found = rules_of(some)
        assert len(queries) == 1
        assert set(found) == set(some)
    rules = found[first.pk]
    assert (found[second.pk], found[third.pk]) == (None, None)
    assert rules is not None
    assert range_of(rules).rows()[2]["covers"] == "3 in to 12 in."
    assert "criteria" not in queries.captured_queries[0]["sql"]
    assert rules_of([]) == {}


def test_anybody_who_checks_the_record_learns_its_range(client: Client) -> None:
    yard = make_yard(about=ABOUT)
    issued = issue_record(actor=yard.lead, decision=met_decision(yard))
    text = client.get(reverse("check_record", args=[issued.number])).text
    for told in (
        "Range of qualification",
        "Position: Sill and vertical face.",
        "Width: 3 in to 12 in.",
        "confirmed every 6 months",
        "Set by the author of the program.",
    ):
        assert told in text, told
    found = client.get(reverse("check_record_json", args=[issued.number])).json()
    assert found["record"]["range"] == issued.document["range"]


def test_the_page_of_a_record_without_a_range_says_nothing_of_one(client: Client) -> None:
    yard = make_yard()
    issued = issue_record(actor=yard.lead, decision=met_decision(yard))
    assert (
        "Range of qualification"
        not in client.get(reverse("check_record", args=[issued.number])).text
    )
    found = client.get(reverse("check_record_json", args=[issued.number])).json()
    assert "range" not in found["record"]


def test_rules_change_the_digest_and_nothing_else_does() -> None:
    # A standard sealed before the rules were added has the digest that it had.
    program = make_program(make_organisation())
    plain, ranged = make_standard(program), make_standard(program, about=ABOUT)
    rest = {name: value for name, value in ranged.document.items() if name != "about"}
    assert digest(rest) == plain.digest != ranged.digest
