"""What runs attained, against the engine's own documents made again from the observations."""

from fractions import Fraction

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from assessments.actions.decisions import sign_off
from assessments.engine.decide import decide as engine_decide
from assessments.models import Attempt
from assessments.queries.attainment import Attainment, attainment, attainment_by_run
from assessments.queries.attempts import observations_document
from tests.assessments.builders import Yard, make_yard, score_all
from tests.assessments.evidence.cohorts import BAD_GAP, another, decide
from tests.factories import enrol, make_person, make_run
from training.models import Enrolment

pytestmark = pytest.mark.django_db


def decided(yard: Yard, **changes: dict[str, object] | None) -> Attempt:
    attempt = another(yard)
    score_all(attempt, yard.instructor, **changes)
    decide(yard, attempt)
    return attempt


def mixed_yard() -> tuple[Yard, list[Attempt]]:
    """Two met, one fallen through a critical criterion, one incomplete, one open, one untouched."""
    yard = make_yard()
    attempts = [
        decided(yard),
        decided(yard, C1={"level": 1}),
        decided(yard, C2=BAD_GAP, C3={"answer": False}),
        decided(yard, C5=None),
    ]
    score_all(another(yard), yard.instructor, C4=None)
    for state in (Enrolment.State.WITHDRAWN, Enrolment.State.WAITING):
        Enrolment.objects.filter(pk=enrol(yard.run, make_person()).pk).update(state=state)
    return yard, attempts


def test_totals_count_each_enrolled_once_and_leave_out_the_waiting() -> None:
    yard, _ = mixed_yard()
    found = attainment([yard.run])
    assert (found.enrolled, found.withdrawn, found.assessed) == (6, 1, 4)
    assert (found.met, found.not_yet_met, found.incomplete) == (2, 1, 1)
    assert (found.open, found.none) == (1, 1)


def test_outcomes_and_criteria_are_the_engines() -> None:
    yard, attempts = mixed_yard()
    # The engine decides again from the rows, without what the sign-off stored.
    documents = [
        engine_decide(each.standard.document, observations_document(each)) for each in attempts
    ]
    found = attainment([yard.run])
    for place, outcome in enumerate(found.outcomes):
        rows = [each["outcomes"][place] for each in documents]
        scores = [Fraction(row["score"]) for row in rows if row["score"] is not None]
        assert outcome.met == sum(row["met"] is True for row in rows)
        assert outcome.not_met == sum(row["met"] is False for row in rows)
        assert outcome.not_judged == sum(row["met"] is None for row in rows)
        assert outcome.mean == sum(scores) / len(scores)
    for place, criterion in enumerate(found.criteria):
        rows = [each["criteria"][place] for each in documents]
        scores = [Fraction(row["score"]) for row in rows if row["score"] is not None]
        assert criterion.key == rows[0]["key"]
        assert criterion.met == sum(row["result"] == "met" for row in rows)
        assert criterion.not_met == sum(row["result"] == "not_met" for row in rows)
        assert criterion.open == sum(row["result"] == "missing" for row in rows)
        assert criterion.mean == sum(scores) / len(scores)


def test_a_mean_is_exact() -> None:
    yard = make_yard()
    decided(yard)
    decided(yard)
    decided(yard, C1={"level": 1})
    # Worked by hand: 1, 1 and (1/2 + 4)/5 = 9/10; their mean is 29/30, no decimal.
    assert attainment([yard.run]).outcomes[0].mean == Fraction(29, 30)


def test_an_outcome_without_a_minimum_is_told_apart() -> None:
    yard = make_yard(outcomes=[{"key": "O1", "statement": "Sets a dutchman", "minimum": None}])
    decided(yard)
    (outcome,) = attainment([yard.run]).outcomes
    assert (outcome.met, outcome.not_met, outcome.no_minimum, outcome.not_judged) == (0, 0, 1, 0)


def test_met_once_stays_met_and_a_replaced_decision_does_not_count() -> None:
    yard = make_yard()
    first = yard.attempt()
    score_all(first, yard.instructor, C3={"answer": False})
    decide(yard, first)
    assert attainment([yard.run]).not_yet_met == 1
    second = yard.attempt()
    score_all(second, yard.instructor)
    sign_off(actor=yard.lead, attempt=second, password_checked=True, note="")
    found = attainment([yard.run])
    assert (found.met, found.not_yet_met) == (1, 0)
    assert found.criteria[2].met == 1  # C3 of the second attempt alone


def test_queries_do_not_grow_with_runs_or_trainees() -> None:
    def asked(yard: Yard, runs: list[object]) -> int:
        with CaptureQueriesContext(connection) as queries:
            attainment_by_run(runs)  # type: ignore[arg-type]
        return len(queries)

    yard = make_yard()
    decided(yard)
    one = asked(yard, [yard.run])
    runs = [yard.run]
    for _ in range(2):
        run = make_run(yard.program, instructors=(yard.instructor,))
        decided(Yard(**{**yard.__dict__, "run": run}))
        runs.append(run)
    assert one == 5
    assert asked(yard, list(runs)) == 5
    by_run = attainment_by_run(runs)
    assert [by_run[run.pk].met for run in runs] == [1, 1, 1]
    assert attainment(runs).met == 3


def test_no_runs_attain_nothing() -> None:
    assert attainment([]) == Attainment(outcomes=[], criteria=[])
