"""The yard, at an address where browsers allow passkeys."""

from typing import Any

import pytest

from tests.training.yard import Yard, make_yard


@pytest.fixture
def yard(db: None, settings: Any) -> Yard:
    """Return a provider with everybody around it."""
    settings.BASE_URL = "https://records.example.org"
    return make_yard()
