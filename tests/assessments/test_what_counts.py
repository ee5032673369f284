"""Which decision of an enrolment counts: met once stays met, a void attempt does not."""

import itertools
from typing import Any

import pytest

from assessments.models import Attempt, Decision
from assessments.queries.attempts import Standing, met_decisions, standings
from assessments.queries.past import past_of
from assessments.queries.results import history
from tests.assessments.builders import Yard, make_yard

pytestmark = pytest.mark.django_db

RESULTS = ("met", "not_yet_met")
STATES = ("decided", "void")


def attempted(yard: Yard, *course: tuple[str, str]) -> Standing:
    """Make attempts one after another, each with a result and a state."""
    for number, (result, state) in enumerate(course, start=1):
        attempt = Attempt.objects.create(
            enrolment=yard.enrolment,
            standard=yard.standard,
            number=number,
            started_by=yard.instructor,
        )
        Decision.objects.create(
            attempt=attempt,
            standard_digest=yard.standard.digest,
            result=result,
            document={},
            observations={},
            engine_version="0",
            decided_by=yard.instructor,
        )
        Attempt.objects.filter(pk=attempt.pk).update(state=state)
    return standings(yard.run)[0]


@pytest.mark.parametrize(
    "course", list(itertools.product(itertools.product(RESULTS, STATES), repeat=2)), ids=str
)
def test_python_and_sql_agree_on_what_counts(course: Any) -> None:
    standing = attempted(make_yard(), *course)
    found = list(met_decisions())
    met = standing.decision if standing.word == "met" else None
    assert found == ([met] if met else [])


def test_met_once_stays_met() -> None:
    standing = attempted(make_yard(), ("met", "decided"), ("not_yet_met", "decided"))
    assert standing.word == "met"
    assert standing.decision
    assert standing.decision.attempt.number == 1
    assert not standing.may_start


def test_a_void_attempt_does_not_count() -> None:
    yard = make_yard()
    standing = attempted(yard, ("not_yet_met", "decided"), ("met", "void"))
    assert standing.word == "not_yet_met"
    assert [row.word for row in history(past_of(standing.attempts[0]))] == ["void", "not_yet_met"]


def test_where_every_attempt_is_void_another_can_start() -> None:
    standing = attempted(make_yard(), ("met", "void"))
    assert (standing.decision, standing.word) == (None, "none")
    assert standing.may_start
    assert Decision.objects.count() == 1
