"""Panels whose drawings nobody looks at, but in the test of the report."""

from collections.abc import Iterator

import pytest

from tests.plain import plain_drawings


@pytest.fixture(autouse=True)
def without_drawings(request: pytest.FixtureRequest) -> Iterator[None]:
    """Make none of the drawings, which take longer than all else of a panel."""
    if request.path.stem == "test_report":
        yield
        return
    with plain_drawings():
        yield
