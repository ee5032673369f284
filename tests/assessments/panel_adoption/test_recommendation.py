"""From judgements to a recommended cut, through the rows of the database."""

import statistics
from typing import Any

import pytest

from assessments.actions.programs import load_program
from assessments.evidence.results import Figure, NotComputed
from assessments.models import Attempt, Criterion, Judge, Panel
from assessments.queries.panel.passing import passing_rates
from assessments.queries.panel.recommendation import advice_of, recommendation
from assessments.queries.panel.scores import earlier_scores
from tests.assessments.panel_adoption.world import (
    KEYS,
    PROGRAM,
    World,
    begin,
    close,
    decided,
    judge_says,
    make_panel,
    make_world,
    open_round,
    seat,
)
from tests.factories import make_organisation, make_role, make_run

pytestmark = pytest.mark.django_db


def test_the_cut_of_the_worked_example() -> None:
    world = make_world()
    cut = recommendation(world.panel).cut
    assert isinstance(cut, Figure)
    # Worked out apart from this program: see ANGOFF.
    assert cut.value == pytest.approx(4.42 / 6, abs=1e-9)
    assert cut.standard_error == pytest.approx(0.1384 / 6, abs=1e-5)
    advice = advice_of(world.panel)
    assert (advice.cut, advice.standard_error) == ("0.7367", "0.0231")
    assert (advice.judges, advice.rounds) == (5, 2)
    assert advice.movement is not None
    # The first round came to 3 of 6 by hand; its cuts 2.6, 2.8, 3, 3.2, 3.4 have an SD of 0.3162.
    rows = advice.movement.tables[0].rows
    assert rows[0][:2] == ("Round 1", 5)
    assert rows[0][2] == pytest.approx(50)
    assert rows[0][3] == pytest.approx(100 * 0.3162 / 5**0.5 / 6, abs=1e-3)
    assert rows[1][2] == pytest.approx(100 * 4.42 / 6)


def test_weights_count() -> None:
    """Arris at weight 3, by hand: each judge's sum has two arris estimates more, over 8."""
    world = make_world()
    Criterion.objects.filter(key="arris").update(weight="3")
    cut = recommendation(world.panel).cut
    assert isinstance(cut, Figure)
    assert cut.value == pytest.approx((4.42 + 2 * 0.82) / 8)


def test_the_median_is_the_statistic_that_was_chosen() -> None:
    world = make_world(statistic="median")
    cut = recommendation(world.panel).cut
    assert isinstance(cut, Figure)
    assert cut.value == pytest.approx(4.40 / 6)


def test_who_stood_down_is_left_out() -> None:
    world = make_world()
    Judge.objects.filter(pk=world.judges[3].pk).update(
        state="stood_down", stood_down_because="Moved away"
    )
    advice = advice_of(world.panel)
    assert advice.judges == 4
    assert advice.cut == f"{(4.40 + 4.45 + 4.05 + 4.30) / 4 / 6:.4f}"


def test_before_a_round_is_closed_there_is_a_reason_and_no_number() -> None:
    provider = make_organisation()
    lead = make_role("lead", provider)
    program = load_program(actor=lead, provider=provider, source=PROGRAM, filename="ledge.yaml")
    advice = advice_of(make_panel(program, lead))
    assert (advice.cut, advice.standard_error, advice.suggested_band) == (None, None, None)
    assert advice.why_no_cut == "No round that counts is closed yet: close one, then look again."
    assert [section.key for section in advice.sections] == ["angoff"]


def judged(
    method: str, said: list[dict[tuple[str, str], dict[str, Any]]], met: tuple[int, ...] = ()
) -> tuple[Panel, list[Attempt]]:
    """Return a panel with one closed round, and the attempts whose pieces are judged.

    ``said`` holds what each judge says: {(kind, key): value}; the key of a piece is its place.
    """
    provider = make_organisation()
    lead = make_role("lead", provider)
    program = load_program(actor=lead, provider=provider, source=PROGRAM, filename="ledge.yaml")
    run = make_run(program)
    attempts = decided(program, lead, run, met) if met else []
    panel = make_panel(program, lead, method=method)
    if met:
        panel.sources.add(run)
    judges = [seat(panel, lead, f"Judge {place}") for place in range(len(said))]
    begin(panel)
    round = open_round(panel, 1, lead)
    for judge, values in zip(judges, said, strict=True):
        for (kind, key), value in values.items():
            subject = str(attempts[int(key)].pk) if kind == "attempt" else key
            judge_says(round, judge, subject, value, kind=kind)
    close(round, lead)
    return panel, attempts


def placed(*cells: str) -> dict[tuple[str, str], dict[str, Any]]:
    return {
        ("criterion", key): dict(zip(("relevance", "difficulty"), cell.split("-"), strict=True))
        for key, cell in zip(KEYS, cells, strict=True)
    }


def test_ebel_by_hand() -> None:
    """Judge A: (4 x 0.8 + 2 x 0.5) / 6 = 0.7; judge B: 0.6 throughout; their mean is 0.65."""
    first = {
        **placed(*["essential-easy"] * 4, *["important-hard"] * 2),
        ("cell", "essential-easy"): {"share": "0.8"},
        ("cell", "important-hard"): {"share": "0.5"},
    }
    second = {**placed(*["important-medium"] * 6), ("cell", "important-medium"): {"share": "0.6"}}
    advice = advice_of(judged("ebel", [first, second])[0])
    assert advice.cut == "0.65"
    # Two cuts: SD 0.0707, over the root of 2 is half their difference.
    assert advice.standard_error == "0.05"


def ratings(*values: int) -> dict[tuple[str, str], dict[str, Any]]:
    return {("attempt", str(place)): {"rating": value} for place, value in enumerate(values)}


def groups(*values: str) -> dict[tuple[str, str], dict[str, Any]]:
    word = {"c": "competent", "n": "not_yet"}
    return {("attempt", str(place)): {"group": word[v]} for place, v in enumerate(values)}


def test_borderline_regression_reads_the_scores_of_the_pieces() -> None:
    """Against Python's statistics.linear_regression through the mean ratings."""
    met = (1, 2, 3, 4, 5, 6)
    panel, _ = judged("borderline", [ratings(1, 2, 3, 3, 4, 5), ratings(1, 2, 2, 4, 4, 5)], met)
    line = statistics.linear_regression([1, 2, 2.5, 3.5, 4, 5], [count / 6 for count in met])
    cut = recommendation(panel).cut
    assert isinstance(cut, Figure)
    assert cut.value == pytest.approx(line.intercept + 3 * line.slope)
    assert len(advice_of(panel).pieces) == 6


def test_contrasting_groups_takes_the_group_of_most_judges() -> None:
    """3 of 6 and less are not competent, 4 and more are: the middle of the gap is 3.5 of 6."""
    met = (1, 2, 3, 4, 5, 6, 3)
    panel, _ = judged("contrasting", [groups(*"nnncccc"), groups(*"nnncccn")], met)
    found = recommendation(panel)
    assert isinstance(found.cut, Figure)
    assert found.cut.value == pytest.approx(3.5 / 6)
    assert "Left out since the judges were evenly split: 1 of 7 pieces." in found.section.notes


def test_pieces_without_a_judgement_are_said_not_filled_in() -> None:
    panel, _ = judged(
        "borderline", [ratings(1, 2, 3, 3, 4), ratings(1, 2, 2, 4, 4)], (1, 2, 3, 4, 5, 6)
    )
    notes = recommendation(panel).section.notes
    assert "Left out for want of a judgement or a score: 1 of 6 pieces." in notes


def test_one_judge_is_not_enough() -> None:
    panel, _ = judged("angoff", [{("criterion", key): {"share": "0.5"} for key in KEYS}])
    cut = recommendation(panel).cut
    assert isinstance(cut, NotComputed)
    assert "two judges" in cut.reason


@pytest.fixture
def scored() -> World:
    return make_world(earlier=(2, 3, 4, 4, 5, 5, 6, 6), sense_check=True)


def test_the_sense_check_reads_the_attempts_decided_before(scored: World) -> None:
    advice = advice_of(scored.panel)
    assert sorted(row.share for row in advice.earlier) == pytest.approx(
        [count / 6 for count in (2, 3, 4, 4, 5, 5, 6, 6)]
    )
    assert advice.sense_check is not None
    figures = [figure for figure in advice.sense_check.figures if isinstance(figure, Figure)]
    # By hand: 2 of 8 fail up to 66.6 %, 4 of 8 above. The line from 40 % at 60 % down to 5 % at
    # 80 % stands at 27.75 % for a cut of 67 %: the first whole percent where as many fail.
    assert figures[0].value == pytest.approx(0.67)
    # What was known of earlier attempts changes no cut.
    assert advice.cut == "0.7367"


def test_how_many_would_have_reached_a_cut(scored: World) -> None:
    """5 and 6 of 6 reach 73.67 %, that is 4 attempts; on the cut is reached."""
    scores = advice_of(scored.panel).earlier
    rates = passing_rates(scores, [("Recommended", "0.7367"), ("On it", "2/3")])
    assert [(rate.reached, rate.scores, rate.percent) for rate in rates] == [(4, 8, 50), (6, 8, 75)]
    assert passing_rates([], [("Recommended", "0.7")]) == ()


def test_only_attempts_on_the_same_criteria_before_the_panel_count(scored: World) -> None:
    decided(scored.program, scored.lead, make_run(scored.program), (1,))  # after the panel began
    assert len(earlier_scores(scored.panel)) == 8
    Criterion.objects.filter(task__program=scored.program, key="bed").update(weight="2")
    assert earlier_scores(scored.panel) == []


def test_the_queries_do_not_grow(scored: World, django_assert_num_queries: Any) -> None:
    with django_assert_num_queries(60, exact=False) as first:
        advice_of(scored.panel)
    before = len(first.captured_queries)
    extra = seat(scored.panel, scored.lead, "Sixth judge")
    assert extra.pk
    with django_assert_num_queries(before):
        advice_of(scored.panel)
