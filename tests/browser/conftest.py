"""A real browser: Debian's Chromium, driven by Playwright."""

import os
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

import pytest
from playwright.sync_api import Browser, Page, sync_playwright

from tests.bench.browser import chromium as launch
from tests.live import served


@pytest.fixture
def chromium() -> Iterator[Browser]:
    """Start Chromium. Playwright's own downloads are not used.

    For one test only: while it lives, an event loop runs in this thread, in which the tests
    of signatures could not run one of their own.
    """
    with started() as browser:
        yield browser


@contextmanager
def started() -> Iterator[Browser]:
    """Run Debian's Chromium for as long as the block."""
    before = os.environ.get("DJANGO_ALLOW_ASYNC_UNSAFE")
    # Playwright keeps an event loop in this thread, which Django takes for asynchronous code.
    os.environ["DJANGO_ALLOW_ASYNC_UNSAFE"] = "true"
    with sync_playwright() as playwright:
        browser = launch(playwright)
        yield browser
        browser.close()
    if before is None:
        del os.environ["DJANGO_ALLOW_ASYNC_UNSAFE"]


@pytest.fixture
def site(transactional_db: None, data_in_a_folder_of_its_own: None) -> Iterator[str]:
    """Serve the product in a thread, with the settings of this test; yields the address."""
    with served() as address:
        yield address


@pytest.fixture
def phone(chromium: Browser) -> Iterator[Page]:
    """A page as wide as a phone; an error in its console fails the test."""
    context = chromium.new_context(viewport={"width": 360, "height": 740})
    page = context.new_page()
    complaints: list[str] = []
    page.on("pageerror", lambda error: complaints.append(str(error)))
    page.on("console", lambda message: _note(complaints, message))
    yield page
    context.close()
    assert complaints == []


def _note(complaints: list[str], message: Any) -> None:
    # A form that is sent back answers 422, which Chromium reports as well.
    if message.type == "error" and "422" not in message.text:
        complaints.append(message.text)
