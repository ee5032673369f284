"""A device on site: pages of one browser profile, with the product's own modules on them."""

from collections.abc import Iterator

import pytest
from playwright.sync_api import Browser, BrowserContext

from tests.browser.conftest import started
from tests.browser.site.photographs import Device


@pytest.fixture(scope="module")
def chromium() -> Iterator[Browser]:
    """Start Chromium once for a module: nothing is signed here, and each test has a profile."""
    with started() as browser:
        yield browser


@pytest.fixture
def profile(chromium: Browser) -> Iterator[BrowserContext]:
    """One profile as large as a phone: its tabs share what the device keeps."""
    context = chromium.new_context(viewport={"width": 360, "height": 740})
    yield context
    context.close()


@pytest.fixture
def context(chromium: Browser) -> Iterator[BrowserContext]:
    context = chromium.new_context(
        viewport={"width": 360, "height": 740}, timezone_id="America/New_York"
    )
    yield context
    context.close()


@pytest.fixture
def device(context: BrowserContext, site: str) -> Device:
    return Device(context.new_page(), site)
