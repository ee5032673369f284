"""Shares by outcome: worked by hand, the engine's own for whole attempts, nobody else's told."""

from datetime import timedelta
from fractions import Fraction
from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from assessments.actions.practice_plans import agree_plan
from assessments.engine.numbers import exact
from assessments.models import Attempt
from assessments.progress_drawing import Spot, progress_svg
from assessments.queries.progress import Progress, progress_of, progress_of_run
from assessments.queries.progress_tomorrow import tomorrow_of
from tests.assessments.builders import Yard, criterion, make_standard, readings
from tests.assessments.progress.builders import (
    browser,
    decided,
    piece,
    practice_yard,
    proposed,
    today,
)
from tests.assessments.progress.test_plans import session_plan
from tests.factories import enrol, make_person
from training.actions.sessions import add_session

pytestmark = pytest.mark.django_db
BAD_GAP = readings(("1/2", "1/2", "in"), ("1/2", "1/2", "in"))


@pytest.fixture
def yard(db: None) -> Yard:
    """Return a yard with modules, whose run is on."""
    return practice_yard()


def row_of(yard: Yard) -> Progress:
    return progress_of(yard.enrolment).rows[0]


def test_a_share_is_of_what_was_seen_alone(yard: Yard) -> None:
    # By hand, weights all 1: level 1 of 2 is 1/2, the gap is out of its limits: 0. (1/2 + 0) / 2.
    piece(yard, C1={"level": 1}, C2=BAD_GAP)
    ((point, share),) = row_of(yard).lines[0].points
    assert (share.value, share.counted, share.all) == (Fraction(1, 4), 2, 5)
    assert (point.kind, point.day) == ("piece", today(yard))
    assert point.results == {"C1": "met", "C2": "not_met"}
    assert row_of(yard).lines[0].word == "not_yet_met"


def test_weights_count_as_in_the_standard() -> None:
    # By hand: C3 weighs 3 in all and twice in O1: 6 of 7 parts when C4 weighs 1.
    document = {
        "criteria": [
            criterion("C3", "set", "checked", expected=True, weight="3", outcomes={"O1": "2"}),
            criterion("C4", "set", "counted", what="voids", limits={"lower": None, "upper": "1"}),
        ]
    }
    yard = practice_yard(**document)
    piece(yard, C3={"answer": True}, C4={"count": 5})
    ((_, share),) = row_of(yard).lines[0].points
    assert share.value == Fraction(6, 7)


def test_not_applicable_and_taken_back_stand_behind_nothing(yard: Yard) -> None:
    piece(yard, C4={"not_applicable": True, "reason": "No voids can be seen."})
    empty = piece(yard)
    row = row_of(yard)
    assert row.lines[0].points == []
    assert row.lines[0].word == "none"
    assert [point.id for point in row.points][-1] == empty.pk
    assert dict(row.results) == {"C4": "not_applicable"}


@pytest.mark.parametrize("level", [0, 1, 2])
def test_of_a_whole_attempt_it_is_the_engines_own_score(yard: Yard, level: int) -> None:
    attempt = decided(yard, C1={"level": level}, C3={"answer": False})
    ((point, share),) = row_of(yard).lines[0].points
    (outcome,) = attempt.decisions.get().document["outcomes"]
    assert share.value == exact(outcome["score"])
    assert (share.counted, point.number) == (5, 1)


def test_pieces_and_attempts_stand_in_the_order_of_time(yard: Yard) -> None:
    decided(yard)
    piece(yard, day=today(yard) - timedelta(days=2), C1={"level": 0}, C4={"count": 9})
    row = row_of(yard)
    assert [point.kind for point, _ in row.lines[0].points] == ["piece", "attempt"]
    # What was seen last counts: the attempt met C1 and C4, and not C3.
    assert (row.results["C1"], row.results["C4"], row.results["C3"]) == ("met", "met", "not_met")


def test_void_and_open_attempts_tell_nothing(yard: Yard) -> None:
    attempt = decided(yard)
    Attempt.objects.filter(pk=attempt.pk).update(state="void")
    yard.attempt()
    assert row_of(yard).points == []


def test_what_an_earlier_standard_saw_is_no_need_now(yard: Yard) -> None:
    piece(yard, C1={"level": 0})
    make_standard(yard.program, dimensions={"opening_width": {"value": "8", "unit": "in"}})
    row = row_of(yard)
    assert not row.results
    ((point, _),) = row.lines[0].points
    assert not point.current


def test_who_needs_what_tomorrow(yard: Yard) -> None:
    second, third, fourth = (enrol(yard.run, make_person(f"Mason {n}")) for n in "BCD")
    piece(yard, C1={"level": 0}, C4={"count": 9})
    piece(yard, enrolment=second, C1={"level": 0}, C3={"answer": False})
    decided(yard, third, C3={"answer": True}, C4={"count": 9})
    add_session(
        actor=yard.lead, run=yard.run, plan=session_plan(yard, today(yard) + timedelta(days=1))
    )
    cohort = progress_of_run(yard.run)
    found = tomorrow_of(yard.run, cohort)
    needs = [(need.key, {person.pk for person in need.people}) for need in found.needs]
    # Most people first, then critical ones; who met the standard lacks nothing.
    assert needs == [
        ("C1", {yard.trainee.pk, second.person_id}),
        ("C3", {second.person_id}),
        ("C4", {yard.trainee.pk}),
    ]
    assert [session.title for session in found.needs[0].sessions] == ["Bedding"]
    assert [person.pk for person in found.unseen] == [fourth.person_id]
    assert {row.enrolment.pk for row in cohort.rows if row.met} == {third.pk}


def test_what_plans_say_is_due_by_then(yard: Yard) -> None:
    attempt = decided(yard)
    plan = proposed(
        yard, attempt, yard.instructor, item={"by_day": today(yard) + timedelta(days=1)}
    )
    cohort = progress_of_run(yard.run)
    assert not tomorrow_of(yard.run, cohort).due
    agree_plan(actor=yard.trainee, plan=plan)
    assert [item.plan for item in tomorrow_of(yard.run, cohort).due] == [plan]


def test_queries_do_not_grow_with_trainees_pieces_or_attempts(yard: Yard) -> None:
    client = browser(yard.instructor)
    address = reverse("run_progress", args=[yard.run.pk])

    def asked() -> int:
        with CaptureQueriesContext(
            connection,
        ) as queries:
            assert client.get(address).status_code == 200
        return len(queries)

    piece(yard, C1={"level": 0})
    decided(yard)
    one = asked()
    for number in range(2):
        other = enrol(yard.run, make_person(f"Mason {number}"))
        piece(yard, enrolment=other, C1={"level": 0}, C3={"answer": True})
        piece(yard, enrolment=other, C1={"level": 2})
        decided(yard, other)
    assert asked() == one


def test_nobody_sees_how_another_comes_on(yard: Yard) -> None:
    fellow = make_person("Fellow Mason")
    other = enrol(yard.run, fellow)
    piece(yard, enrolment=other, C1={"level": 0})
    piece(yard, C1={"level": 2})
    client = browser(yard.trainee)
    own = client.get(reverse("progress", args=[yard.enrolment.pk]))
    assert own.status_code == 200
    assert "Fellow Mason" not in own.content.decode()
    assert client.get(reverse("progress", args=[other.pk])).status_code == 404
    assert client.get(reverse("run_progress", args=[yard.run.pk])).status_code == 404


def test_sessions_are_told_by_the_clock_of_the_site(yard: Yard) -> None:
    yard.run.site.time_zone = "Pacific/Honolulu"  # far from that of the tests
    yard.run.site.save()
    add_session(
        actor=yard.lead, run=yard.run, plan=session_plan(yard, today(yard) + timedelta(days=1))
    )
    piece(yard, C1={"level": 0})
    address = reverse("run_progress", args=[yard.run.pk])
    assert browser(yard.instructor).get(address).content.decode().count(">09:00<") == 2


def test_both_pages_say_shares_in_words(yard: Yard) -> None:
    piece(yard, C1={"level": 1}, C2=BAD_GAP)
    for address in (
        reverse("progress", args=[yard.enrolment.pk]),
        reverse("run_progress", args=[yard.run.pk]),
    ):
        text = browser(yard.instructor).get(address).content.decode()
        assert "25 %" in text
        assert "from 2 of 5 criteria" in text
        assert "Below the minimum" in text
        assert "style=" not in text


@given(
    st.lists(st.tuples(st.fractions(0, 1), st.booleans()), max_size=6),
    st.none() | st.fractions(0, 1),
)
# The first draw reads a module, which takes longer than Hypothesis likes.
@settings(max_examples=30, suppress_health_check=[HealthCheck.too_slow])
def test_every_drawing_stays_in_its_frame(spots: list[Any], minimum: Fraction | None) -> None:
    from xml.etree import ElementTree as ET

    root = ET.fromstring(progress_svg([Spot(*each) for each in spots], minimum))
    circles = [node for node in root if node.tag.endswith("circle")]
    assert len(circles) == sum(not attempt for _, attempt in spots)
    for node in circles:
        assert 4 <= float(node.attrib["cx"]) <= 146
        assert 4 <= float(node.attrib["cy"]) <= 60
