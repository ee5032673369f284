"""A Chromium of the test's own, so that the test can kill all of it and start it again."""

import os
import shutil
import signal
import subprocess
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from playwright.sync_api import (
    Browser,
    BrowserContext,
    Page,
    Playwright,
    ViewportSize,
    sync_playwright,
)

PHONE: ViewportSize = {"width": 360, "height": 740}
PATIENCE = 60  # seconds to wait for a state before the test is given up
FLAGS = (
    "--headless=new",
    "--no-sandbox",
    "--remote-debugging-port=0",
    "--no-first-run",
    "--disable-gpu",
    "--disable-dev-shm-usage",
    "--disable-background-networking",
    "--disable-component-update",
)


class OwnChromium:
    """One profile in ``folder``; ``start`` and ``kill`` as often as the test likes."""

    def __init__(self, playwright: Playwright, folder: Path) -> None:
        self.playwright = playwright
        self.folder = folder
        self.process: subprocess.Popen[bytes] | None = None
        self.browser: Browser | None = None

    def start(self) -> BrowserContext:
        """Start Chromium on the profile; return its one context when it answers."""
        path = shutil.which("chromium")
        assert path, "Chromium is missing: run make test, which installs it."
        told = self.folder / "DevToolsActivePort"
        told.unlink(missing_ok=True)
        for lock in self.folder.glob("Singleton*"):
            lock.unlink()  # left by the one that was killed
        self.process = subprocess.Popen(
            [path, *FLAGS, f"--user-data-dir={self.folder}", "about:blank"],
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
            start_new_session=True,
        )
        _wait(lambda: told.exists() and told.read_text().count("\n") >= 1)
        port = told.read_text().split("\n")[0]
        self.browser = self.playwright.chromium.connect_over_cdp(f"http://127.0.0.1:{port}")
        return self.browser.contexts[0]

    def page(self) -> Page:
        """Start Chromium and return a page as large as a phone's."""
        page = self.start().new_page()
        page.set_viewport_size(PHONE)
        page.set_default_timeout(PATIENCE * 1000)
        return page

    def close(self) -> None:
        """Close Chromium as a person does: it writes its cookies first."""
        assert self.browser is not None
        assert self.process is not None
        with suppress(Exception):  # the connection ends before the answer comes
            self.browser.new_browser_cdp_session().send("Browser.close")
        self.process.wait(PATIENCE)
        self.kill()

    def kill(self) -> None:
        """SIGKILL the whole process group, as a phone's system does with what is in its way."""
        process = self.process
        assert process is not None
        with suppress(ProcessLookupError):
            os.killpg(process.pid, signal.SIGKILL)
        process.wait()
        self.process = None
        if self.browser is not None:
            with suppress(Exception):  # the connection is gone already, as intended
                self.browser.close()
            self.browser = None


@contextmanager
def own_chromium(folder: Path) -> Iterator[OwnChromium]:
    """Give a Chromium that has not started; kill it after."""
    before = os.environ.get("DJANGO_ALLOW_ASYNC_UNSAFE")
    # Playwright keeps an event loop in this thread, which Django takes for asynchronous code.
    os.environ["DJANGO_ALLOW_ASYNC_UNSAFE"] = "true"
    folder.mkdir()
    with sync_playwright() as playwright:
        chromium = OwnChromium(playwright, folder)
        try:
            yield chromium
        finally:
            if chromium.process is not None:
                chromium.kill()
    if before is None:
        del os.environ["DJANGO_ALLOW_ASYNC_UNSAFE"]


def _wait(state: Callable[[], bool]) -> None:
    end = time.monotonic() + PATIENCE
    while not state():
        assert time.monotonic() < end, "Chromium did not come up."
        time.sleep(0.05)
