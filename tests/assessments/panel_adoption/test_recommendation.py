"""From judgements to a recommended cut, through the rows of the database."""

import pytest

from assessments.evidence.results import Figure
from assessments.queries.panel.recommendation import advice_of, recommendation
from tests.assessments.panel_adoption.world import make_world

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
