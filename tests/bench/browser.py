"""Debian's Chromium for measurements, and a processor as slow as a phone's."""

import shutil

from playwright.sync_api import Browser, CDPSession, Page, Playwright


def chromium(playwright: Playwright) -> Browser:
    """Start Chromium without a window."""
    path = shutil.which("chromium")
    if path is None:
        raise RuntimeError("Chromium is missing: run make test, which installs it.")
    return playwright.chromium.launch(executable_path=path, args=["--no-sandbox"])


def slow_down(page: Page, times: int) -> CDPSession:
    """Slow the page's processor down; return the DevTools session, which must stay open."""
    devtools = page.context.new_cdp_session(page)
    devtools.send("Emulation.setCPUThrottlingRate", {"rate": times})
    return devtools
