"""What the tests of the owner's view share."""

import pytest

from tests.certificates.crew.coverage.builders import set_clock
from tests.certificates.crew.owner.builders import NOON, Chapel, chapel


@pytest.fixture(autouse=True)
def clock(monkeypatch: pytest.MonkeyPatch) -> None:
    """Let it be noon in New York on 15 January 2027."""
    set_clock(monkeypatch, NOON)


@pytest.fixture
def site(db: None) -> Chapel:
    """Return the project, with nothing submitted yet."""
    return chapel()
