"""What the scoring page says of a critical criterion that is not met, by the pass rule."""

import pytest

from tests.assessments.builders import ONE_ASSESSOR, criterion, make_yard, standard_document
from tests.assessments.test_scoring_views import Page
from training.models import Program

pytestmark = pytest.mark.django_db
DECIDED = "the standard is not met, whatever else is scored"
OPEN = "The score of another assessor may still change that"
NOT_ASKED = "does not ask for the critical criteria"
LEVELS = [{"points": points, "description": f"Worth {points}"} for points in ("0", "1", "2")]


@pytest.mark.parametrize(
    ("critical", "combine", "kind", "says"),
    [
        (True, "mean", "checked", DECIDED),
        (True, "lower", "checked", DECIDED),
        (True, "agreement", "checked", OPEN),
        (True, "mean", "rated", OPEN),
        (True, "lower", "rated", DECIDED),
        (False, "lower", "checked", NOT_ASKED),
    ],
)
def test_the_page_claims_only_what_the_rule_decides(
    critical: bool, combine: str, kind: str, says: str
) -> None:
    own: dict[str, dict[str, object]] = {
        "checked": {"expected": True},
        "rated": {"levels": LEVELS, "met_from": 1},
    }
    document = standard_document(Program(code="P-1", version=1, title="Dutchman repair"))
    rows = [row for row in document["criteria"] if row["key"] != "C1"]
    rows.insert(0, criterion("C1", "fit", kind, critical=True, **own[kind]))
    rule = {**ONE_ASSESSOR, "critical": critical}
    rule["assessors"] = {"required": 2, "combine": combine}
    yard = make_yard(criteria=rows, pass_rule=rule)
    page = Page(yard, yard.attempt())
    page.send("C1", **({"answer": "no"} if kind == "checked" else {"level": "0"}))
    shown = page.see("C1")
    assert [text for text in (DECIDED, OPEN, NOT_ASKED) if text in shown] == [says]
    assert "stop the work" in shown
