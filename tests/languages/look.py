"""The pages of a running demo as pictures, for eyes: ``python -m tests.languages.look FOLDER``.

Signs in to the demo on ``--port`` as each role, follows the links from page to page and opens one
page of every address (of some more), in the language and at the widths asked for. Each picture is
FOLDER/ROLE-ADDRESS-WIDTH.png. Printed are the pages that scroll sideways, cut off the text of a
button, answer with an error or speak another language; at the end the addresses of the table of
roles that no role reached: those that only take a form, give a file or need a secret link.
"""

import argparse
import os
from collections import Counter, deque
from collections.abc import Iterator, Sequence
from pathlib import Path
from urllib.parse import urldefrag, urlsplit

import django
from django.urls import Resolver404, resolve
from playwright.sync_api import Browser, Error, Page, sync_playwright

from tests.bench.browser import chromium
from tests.roles_table import PEOPLE, TABLE

WIDTHS = (360, 820, 1280)
# Of most addresses one page is enough; these look different from case to case.
SEVERAL = {"attempt": 3, "review": 2, "attempt_score_subject": 6, "practice_score": 5, "run": 2}
FILES = (".pdf", ".csv", ".xlsx", ".zip", ".json", ".ics", ".crl", ".jpg", ".png")
CUT = """() => [...document.querySelectorAll("button, .btn, summary, label, td, dd, .status")]
  .filter((each) => each.clientWidth > 1 && each.scrollWidth > each.clientWidth)
  .map((each) => each.textContent.trim().slice(0, 80))"""
# What sticks out furthest, to know where to look.
WIDEST = """() => [...document.querySelectorAll("main *, header *, footer *")]
  .map((each) => [each.getBoundingClientRect().right, each])
  .sort((one, other) => other[0] - one[0]).slice(0, 1)
  .map(([right, each]) => `${each.tagName.toLowerCase()}.${each.className} to ${right}`)[0]"""
LINKS = "() => [...document.links].filter((each) => !each.download).map((each) => each.href)"


class Walk:
    """What one role reaches in one language."""

    def __init__(
        self, browser: Browser, base: str, folder: Path, language: str, *, dark: bool
    ) -> None:
        self.base, self.folder, self.language = base, folder, language
        self.context = browser.new_context(
            locale=language, color_scheme="dark" if dark else "light"
        )
        self.context.add_cookies([{"name": "django_language", "value": language, "url": base}])
        self.page: Page = self.context.new_page()
        self.reached: set[str] = set()

    def sign_in(self, email: str, password: str) -> None:
        """Sign in, or stop."""
        self.page.goto(f"{self.base}/sign-in/")
        self.page.fill("[name=username]", email)
        self.page.fill("[name=password]", password)
        self.page.press("[name=password]", "Enter")
        self.page.wait_for_url(f"{self.base}/")

    def all_from_home(self, role: str, widths: Sequence[int]) -> Iterator[str]:
        """Take the pictures; give each fault as a line."""
        waiting, seen, opened = deque([f"{self.base}/"]), {f"{self.base}/"}, Counter[str]()
        while waiting:
            address = waiting.popleft()
            name = self._name(address)
            if name is None or opened[name] >= SEVERAL.get(name, 1):
                continue
            opened[name] += 1
            title = f"{role}-{name}" + (f"-{opened[name]}" if opened[name] > 1 else "")
            self.page.set_viewport_size({"width": widths[-1], "height": 900})
            self.reached.add(name)
            try:
                answer = self.page.goto(address)
            except Error as error:
                if "Download is starting" in error.message:
                    continue
                raise
            if answer is None or answer.status != 200:
                yield f"{title}: answers {answer.status if answer else 'nothing'} at {address}"
                continue
            if not answer.headers.get("content-type", "").startswith("text/html"):
                continue
            for link in self.page.evaluate(LINKS):
                clean = urldefrag(link)[0]
                if clean not in seen:
                    seen.add(clean)
                    waiting.append(clean)
            yield from self._pictures(title, widths)

    def _name(self, address: str) -> str | None:
        parts = urlsplit(address)
        if f"{parts.scheme}://{parts.netloc}" != self.base or parts.path.endswith(FILES):
            return None
        try:
            return resolve(parts.path).url_name
        except Resolver404:
            return None

    def _pictures(self, title: str, widths: Sequence[int]) -> Iterator[str]:
        spoken = self.page.evaluate("document.documentElement.lang")
        if spoken.split("-")[0] != self.language.split("-")[0]:
            yield f"{title}: is in {spoken}"
        for width in widths:
            self.page.set_viewport_size({"width": width, "height": 900})
            wide = self.page.evaluate("document.documentElement.scrollWidth")
            if wide > width:
                yield f"{title} at {width}: is {wide} wide, {self.page.evaluate(WIDEST)}"
            for text in self.page.evaluate(CUT):
                yield f"{title} at {width}: cuts off {text!r}"
            self.page.screenshot(path=self.folder / f"{title}-{width}.png", full_page=True)


def main() -> None:
    """Read the command line and look."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("folder", type=Path)
    parser.add_argument("--port", type=int, default=8000)
    parser.add_argument("--language", default="es")
    parser.add_argument(
        "--roles", nargs="*", default=[*PEOPLE, "nobody"], help="also NAME=EMAIL, for anybody else"
    )
    parser.add_argument("--widths", nargs="*", type=int, default=list(WIDTHS))
    parser.add_argument("--dark", action="store_true", help="as a system that is dark")
    asked = parser.parse_args()
    asked.folder.mkdir(parents=True, exist_ok=True)
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "config.settings")
    django.setup()
    from certificates.demo.story import read_scenario

    password = read_scenario()["password"]
    reached: set[str] = set()
    faults = 0
    with sync_playwright() as playwright:
        browser = chromium(playwright)
        for each in asked.roles:
            role, _, email = each.partition("=")
            email = email or PEOPLE.get(role, "")
            base = f"http://127.0.0.1:{asked.port}"
            walk = Walk(browser, base, asked.folder, asked.language, dark=asked.dark)
            if email:
                walk.sign_in(email, password)
            for fault in walk.all_from_home(role, asked.widths):
                print(fault, flush=True)
                faults += 1
            print(f"{role}: {len(walk.reached)} addresses", flush=True)
            reached |= walk.reached
            walk.context.close()
        browser.close()
    print(f"{faults} faults. Not reached: {', '.join(sorted(set(TABLE) - reached))}")


if __name__ == "__main__":
    main()
