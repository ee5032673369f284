"""A device on site: pages of one browser profile, with the product's own modules on them."""

from collections.abc import Iterator

import pytest
from playwright.sync_api import Browser, BrowserContext


@pytest.fixture
def profile(chromium: Browser) -> Iterator[BrowserContext]:
    """One profile as large as a phone: its tabs share what the device keeps."""
    context = chromium.new_context(viewport={"width": 360, "height": 740})
    yield context
    context.close()
