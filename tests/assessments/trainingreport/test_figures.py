"""The figures of a report are those of the engine and of the facts, and nobody can edit them."""

from fractions import Fraction

import pytest
from django.utils.translation import override

from assessments.actions.decisions import decide_again
from assessments.actions.reports import ask_for_file
from assessments.engine.numbers import exact
from assessments.models import Decision
from assessments.queries.trainingreport import report_document
from tests.assessments.builders import Yard, make_yard
from tests.assessments.trainingreport.builders import decided, part, taught
from training.models import CourseRun
from training.said import said

pytestmark = pytest.mark.django_db


@pytest.fixture
def yard() -> Yard:
    return make_yard()


def test_results_are_what_the_engine_decides_again_from_the_observations(yard: Yard) -> None:
    decided(yard)
    decided(yard, C3={"answer": False})
    decided(yard, C1={"level": 0}, C4={"count": 5})
    decided(yard, note="Rain stopped the work.", C5=None)
    # The engine is asked again here, on the observations alone.
    again = [decide_again(row) for row in Decision.objects.select_related("attempt__standard")]
    words = [each["result"] for each in again]
    facts = part(yard, "results")
    assert facts["totals"] == {
        "enrolled": 5,
        "withdrawn": 0,
        "assessed": 4,
        "met": words.count("met"),
        "not_yet_met": words.count("not_yet_met"),
        "incomplete": words.count("incomplete"),
        "open": 0,
        "none": 1,
    }
    assert set(words) == {"met", "not_yet_met", "incomplete"}
    rows = [each["outcomes"][0] for each in again]
    scores = [Fraction(exact(row["score"])) for row in rows if row["score"] is not None]
    (outcome,) = facts["outcomes"]
    assert outcome["met"] == sum(row["met"] is True for row in rows)
    assert outcome["not_met"] == sum(row["met"] is False for row in rows)
    assert outcome["scored"] == len(scores)
    assert exact(outcome["mean"]) == sum(scores, Fraction(0)) / len(scores)


def test_the_document_is_in_english_whoever_asks_for_it(yard: Yard) -> None:
    decided(yard)
    run = CourseRun.objects.get()
    with override("es"):
        asked = report_document(run)
        rule = said(asked["parts"][4]["facts"]["standards"][0]["rules"][0])
    assert asked == report_document(run)
    assert rule != asked["parts"][4]["facts"]["standards"][0]["rules"][0]


def test_a_decision_made_anew_is_what_counts(yard: Yard) -> None:
    before = decided(yard)
    assert part(yard, "results")["totals"]["met"] == 1
    Decision.objects.create(
        attempt=before.attempt,
        standard_digest=before.standard_digest,
        result="not_yet_met",
        document={**before.document, "result": "not_yet_met"},
        observations=before.observations,
        engine_version=before.engine_version,
        decided_by=yard.lead,
        replaces=before,
    )
    totals = part(yard, "results")["totals"]
    assert (totals["met"], totals["not_yet_met"]) == (0, 1)
    assert part(yard, "next")["again"] == 1


def test_hours_are_those_attended(yard: Yard) -> None:
    taught(yard, yard.trainee, minutes=90)
    attendance = part(yard, "attendance")
    # Of 120 minutes asked, 90 attended: worked by hand.
    assert attendance["modules"][0]["minutes"] == 90
    assert attendance["people"] == [
        {"name": "Trainee 1", "minutes": 90, "missing": 30, "withdrawn": False}
    ]
    assert (attendance["present"], attendance["minutes"], attendance["full"]) == (1, 90, 0)
    lessons = part(yard, "taught")
    assert lessons["held"] == lessons["modules"][0]["held"] == 120
    # 13:00 UTC is 08:00 in New York in November (IANA time zone database).
    assert [lessons["sessions"][0][name] for name in ("day", "from", "to", "by")] == [
        "2026-11-03",
        "08:00",
        "10:00",
        ["Instructor 1"],
    ]


def test_the_standard_is_named_with_its_digest_and_when_it_was_fixed(yard: Yard) -> None:
    attempt = yard.attempt()
    facts = part(yard, "standard")
    assert [each["digest"] for each in facts["standards"]] == [yard.standard.digest]
    assert facts["standards"][0]["panel"] is None
    assert facts["standards"][0]["sealed"] <= facts["first_attempt"]
    assert attempt.started_at >= yard.standard.sealed_at


def test_a_run_without_anything_has_a_report(yard: Yard) -> None:
    CourseRun.objects.filter(pk=yard.run.pk).update(state=CourseRun.State.PLANNED)
    document = report_document(yard.run)
    assert [row["number"] for row in document["parts"]] == list(range(1, 10))
    assert part(yard, "procedure") == {"stages": []}


def test_the_file_keeps_the_figures_of_the_moment_it_was_asked_for(yard: Yard) -> None:
    decided(yard)
    file = ask_for_file(actor=yard.lead, run=yard.run, paper="letter")
    decided(yard)
    file.refresh_from_db()
    frozen = next(row for row in file.document["parts"] if row["key"] == "results")
    assert frozen["facts"]["totals"]["met"] == 1
    assert part(yard, "results")["totals"]["met"] == 2
