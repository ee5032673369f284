"""The yard that most of these tests start from."""

import pytest

from tests.training.yard import Yard, make_yard


@pytest.fixture
def yard(db: None) -> Yard:
    """Return a provider with everybody around it."""
    return make_yard()


@pytest.fixture
def other_yard(db: None) -> Yard:
    """Return a provider that has nothing to do with the first."""
    return make_yard()
