"""The figures of an evaluation: rank correlation against published values, the rest by hand."""

from datetime import timedelta
from math import isclose

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from assessments.evaluation.data import evaluation_of
from assessments.evaluation.rank_correlation import rank_correlation
from assessments.evaluation.sections import sections_of
from assessments.evidence.results import Figure, NotComputed, Result, Section
from tests.assessments.builders import Yard, make_yard
from tests.assessments.evaluation.builders import (
    another_run,
    answered,
    decided_on,
    practice_session,
    present,
)
from tests.factories import enrol, make_person, make_program, make_run
from training.actions.complaints import answer_complaint, make_complaint
from training.models import Attendance, Complaint, Enrolment, Program

IQ = (106, 86, 100, 101, 99, 103, 97, 113, 112, 110)
HOURS = (7, 0, 27, 50, 28, 29, 20, 12, 6, 17)


def figure(found: Result) -> Figure:
    assert isinstance(found, Figure)
    return found


def sections(program: Program, *, leads: bool = True) -> dict[str, Section]:
    return {each.key: each for each in sections_of(evaluation_of(program, leads=leads))}


def test_spearman_of_a_published_example() -> None:
    # Wikipedia, "Spearman's rank correlation coefficient", example: -29/165 (from memory).
    found = figure(rank_correlation(IQ, HOURS))
    assert isclose(found.value, -29 / 165, abs_tol=1e-12)
    # Bonett & Wright 2000 (formula from memory), worked by hand with z = 1.959964:
    # se = sqrt((1 + 0.030891 / 2) / 7) = 0.380872; artanh r = -0.177602; ± 0.746496.
    assert found.low is not None
    assert found.high is not None
    assert isclose(found.low, -0.72783, abs_tol=5e-5)
    assert isclose(found.high, 0.51455, abs_tol=5e-5)


def test_ties_have_mean_ranks() -> None:
    # Ranks by hand: x 1.5 1.5 3.5 3.5 5 6 7 8, y 1..8: sum of d² = 4 · 1/4 = 1; Pearson of the
    # ranks is 41 / sqrt(41 · 42), as the ties take 1/2 · 2 off the spread 42 of x.
    found = figure(rank_correlation([1, 1, 2, 2, 3, 4, 5, 6], [1, 2, 3, 4, 5, 6, 7, 8]))
    assert isclose(found.value, 41 / (41 * 42) ** 0.5, abs_tol=1e-12)


@pytest.mark.parametrize(
    ("x", "y", "reason"),
    [
        ([], [], "there is none"),
        ([1], [1], "there is 1"),
        (range(7), range(7), "there are 7"),
        ([5] * 8, range(8), "practised the same time"),
        (range(8), [1] * 8, "reached the same score"),
    ],
)
def test_no_correlation_without_people_or_differences(
    x: list[int], y: list[int], reason: str
) -> None:
    found = rank_correlation(list(x), list(y))
    assert isinstance(found, NotComputed)
    assert reason in found.reason


def test_whole_agreement_has_no_interval() -> None:
    found = figure(rank_correlation(list(range(8)), list(range(8))))
    assert isclose(found.value, 1)
    assert (found.low, found.high) == (None, None)


@pytest.mark.django_db
def test_practice_is_paired_with_the_score_and_the_unnoted_are_told() -> None:
    yard = make_yard()
    session = practice_session(yard, yard.run)
    for minutes, changes in ((60, {"C1": {"level": 1}}), (200, {})):
        attempt = decided_on(yard, yard.run, **changes)  # type: ignore[arg-type]
        present(yard, session, attempt.enrolment, minutes)
    decided_on(yard, yard.run)
    found = evaluation_of(yard.program, leads=True).practice
    # By hand: C1 at half marks of five criteria of one weight: 9/10.
    assert sorted((each.minutes, each.score) for each in found.pairs) == [(60, 0.9), (200, 1.0)]
    assert found.unnoted == 1
    practice = sections(yard.program)["practice"]
    assert isinstance(practice.figures[0], NotComputed)
    assert "there are 2" in practice.figures[0].reason
    assert "1 scored trainee" in practice.notes[1]


@pytest.mark.django_db
def test_a_corrected_row_of_attendance_does_not_count() -> None:
    yard = make_yard()
    session = practice_session(yard, yard.run)
    attempt = decided_on(yard, yard.run)
    present(yard, session, attempt.enrolment, 60)
    wrong = Attendance.objects.get(kind=Attendance.Kind.LEFT)
    Attendance.objects.create(
        session=session,
        person=attempt.enrolment.person,
        kind=Attendance.Kind.LEFT,
        how=Attendance.How.DESK,
        at=wrong.at + timedelta(minutes=30),
        by=yard.instructor,
        replaces=wrong,
    )
    (pair,) = evaluation_of(yard.program, leads=True).practice.pairs
    assert pair.minutes == 90


@pytest.mark.django_db
def test_results_and_drop_out_run_by_run() -> None:
    yard = make_yard()
    later = another_run(yard)
    decided_on(yard, yard.run)
    decided_on(yard, later)
    decided_on(yard, later, C3={"answer": False})
    gone = enrol(later, make_person())
    Enrolment.objects.filter(pk=gone.pk).update(state=Enrolment.State.WITHDRAWN)
    found = sections(yard.program)["runs"]
    met, dropped = (figure(each) for each in found.figures)
    # By hand: two of three assessed met; one of five who began withdrew (one is the yard's own).
    assert isclose(met.value, 2 / 3)
    assert isclose(dropped.value, 1 / 5)
    assert (met.n, dropped.n) == (3, 5)
    shares = {row[0]: row[-1] for row in found.tables[0].rows}
    assert sorted(shares.values(), key=str) == [0.5, 1.0]
    assert len(found.drawings) == 1
    assert "run 1: " in found.drawings[0].alternative


@pytest.mark.django_db
def test_runs_of_every_version_count() -> None:
    yard = make_yard()
    program = yard.program
    later = make_program(program.provider, code=program.code, version=2)
    make_run(later)
    versions = [row[1] for row in sections(later)["runs"].tables[0].rows]
    assert sorted(versions) == [1, 2]  # type: ignore[type-var]


@pytest.mark.django_db
def test_answers_of_small_runs_are_in_no_mean() -> None:
    yard = make_yard()
    full, small = another_run(yard), another_run(yard)
    for rating in (5, 5, 4, 4):
        answered(enrol(full, make_person()), rating)
    for _ in range(3):
        answered(enrol(small, make_person()), 1)
    found = sections(yard.program)["reactions"]
    statements, by_run = found.tables
    assert {row[1:] for row in statements.rows} == {(4, 4.5)}
    assert sorted(row[2:] for row in by_run.rows if row[2]) == [(3, None), (4, 4.5)]
    assert "7 of 8" in found.summary


@pytest.mark.django_db
def test_complaints_are_for_leads_and_changes_for_all() -> None:
    yard = make_yard()
    made = make_complaint(actor=yard.trainee, run=yard.run, text="No rail in the bay.")
    Complaint.objects.filter(pk=made.pk).update(made_at=made.made_at - timedelta(days=3))
    make_complaint(actor=yard.trainee, run=yard.run, text="No water.")
    answer_complaint(actor=yard.lead, complaint=made, answer="A rail was put up.")
    found = sections(yard.program)["complaints"]
    assert found.summary == "2 complaints, of which 1 still open."
    assert figure(found.figures[0]).value == pytest.approx(3, abs=0.01)
    assert "rail" not in str(found)
    taught = sections(yard.program, leads=False)
    assert "complaints" not in taught
    assert "assessors" not in taught
    assert "changes" in taught


@pytest.mark.django_db
def test_queries_do_not_grow_with_runs() -> None:
    def asked(yard: Yard) -> int:
        with CaptureQueriesContext(connection) as queries:
            sections(yard.program)
        return len(queries)

    yard = make_yard()
    present(yard, practice_session(yard, yard.run), decided_on(yard, yard.run).enrolment, 60)
    make_complaint(actor=yard.trainee, run=yard.run, text="No rail.")
    one = asked(yard)
    for _ in range(2):
        run = another_run(yard)
        session = practice_session(yard, run)
        for minutes in (30, 90):
            present(yard, session, decided_on(yard, run).enrolment, minutes)
        make_complaint(actor=yard.lead, run=run, text="No rail.")
    assert asked(yard) == one
    assert one <= 21
