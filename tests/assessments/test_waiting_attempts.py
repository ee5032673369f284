"""Who waits for a place on a run has no attempt."""

import pytest

from assessments.actions.attempts import start_attempt
from assessments.models import Attempt
from tests.assessments.builders import make_yard
from training.errors import Refused


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("state", "sentence"),
    [("waiting", "on the waiting list of this run"), ("withdrawn", "withdrawn from this run")],
)
def test_only_who_has_a_place_begins(state: str, sentence: str) -> None:
    yard = make_yard()
    yard.enrolment.state = state
    yard.enrolment.save()
    with pytest.raises(Refused, match=sentence):
        start_attempt(actor=yard.instructor, enrolment=yard.enrolment)
    assert not Attempt.objects.exists()
