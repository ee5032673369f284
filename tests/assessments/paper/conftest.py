"""A yard with an attempt, to key a sheet in for."""

import pytest

from assessments.models import Attempt
from tests.assessments.builders import Yard, make_yard


@pytest.fixture
def yard() -> Yard:
    return make_yard()


@pytest.fixture
def attempt(yard: Yard) -> Attempt:
    """An attempt under the yard's standard, which was sealed just now."""
    return yard.attempt()
