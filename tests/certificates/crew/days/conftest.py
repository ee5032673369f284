"""What the tests of day lists share."""

import pytest

from tests.certificates.crew.coverage.builders import set_clock
from tests.certificates.crew.days.builders import NOON, Tower, tower


@pytest.fixture(autouse=True)
def clock(monkeypatch: pytest.MonkeyPatch) -> None:
    """Let it be noon in New York on 15 January 2027."""
    set_clock(monkeypatch, NOON)


@pytest.fixture
def site(db: None) -> Tower:
    """Return a tower in New York."""
    return tower()
