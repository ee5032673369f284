"""Fixtures for the tests of projects."""

import pytest

from tests.certificates.crew.projects.works import Works, make_works


@pytest.fixture
def works(db: None) -> Works:
    """Return a project without posts, its firms and their people."""
    return make_works()
