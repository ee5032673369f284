"""Every page of what follows a result, on a phone: reached by everybody, and nothing cut off.

Checked with axe-core (tests/browser/axe), whose rules follow WCAG 2.2 (W3C); 360 CSS pixels are
narrower than what its criterion 1.4.10 asks for at 400 % of 1440.
"""

from collections.abc import Iterator
from itertools import product
from pathlib import Path
from typing import Any, Literal

import pytest
from django.conf import settings
from django.test import Client
from playwright.sync_api import Browser, BrowserContext, Page

from tests.faults.marks import at_length
from tests.languages.second_look import Shown, every_page
from training.models import Person

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]
AXE = (Path(__file__).parent / "axe/axe.min.js").read_text()
WIDTH = 360
Look = tuple[str, Literal["light", "dark"]]
LOOKS: tuple[Look, ...] = tuple(product(("en", "es"), ("light", "dark")))
GROUND = {"light": "rgb(255, 255, 255)", "dark": "rgb(22, 25, 28)"}
# Hidden content has no width; a caption that is there for screen readers alone is meant to be cut.
CUT = """() => [...document.querySelectorAll("button, .btn, summary, label, td, dd, .status")]
  .filter((each) => each.clientWidth > 1 && each.scrollWidth > each.clientWidth)
  .map((each) => each.textContent.trim().slice(0, 80))"""


@pytest.fixture
def pages(transactional_db: None, data_in_a_folder_of_its_own: None) -> list[Shown]:
    """Write the rows before the browser starts."""
    return every_page()


@pytest.fixture
def context(chromium: Browser) -> Iterator[BrowserContext]:
    context = chromium.new_context(viewport={"width": WIDTH, "height": 740})
    yield context
    context.close()


@pytest.mark.parametrize(
    "matrix", ["one page in three", *at_length("each page once", "each page in every look")]
)
def test_each_page_on_a_phone(
    pages: list[Shown], site: str, context: BrowserContext, matrix: str
) -> None:
    page = context.new_page()
    faults: list[str] = []
    page.on("pageerror", lambda error: faults.append(f"{page.url}: {error}"))
    chosen = pages[::3] if matrix == "one page in three" else pages
    for number, each in enumerate(chosen):
        # Two after one another differ in the language, four have been through every look.
        once = [LOOKS[(number % 2) * 2 + (number // 2) % 2]]
        for look in LOOKS if matrix == "each page in every look" else once:
            _open(context, page, site, each, look)
            faults += [f"{each.name}, {' '.join(look)}: {fault}" for fault in _faults(page, look)]
    assert not faults, f"{len(faults)} faults:\n" + "\n".join(faults)


def _open(context: BrowserContext, page: Page, site: str, each: Shown, look: Look) -> None:
    """Open the page as its person does, who has chosen the language; a browser asks by a cookie."""
    language, scheme = look
    Person.objects.update(language=language)
    kept = {settings.LANGUAGE_COOKIE_NAME: language}
    if each.person is not None:
        client = Client()
        client.force_login(each.person, backend="django.contrib.auth.backends.ModelBackend")
        kept[settings.SESSION_COOKIE_NAME] = client.cookies[settings.SESSION_COOKIE_NAME].value
    context.clear_cookies()
    context.add_cookies([{"name": name, "value": kept[name], "url": site} for name in kept])
    page.emulate_media(color_scheme=scheme)
    page.goto(f"{site}{each.path}")


def _faults(page: Page, look: Look) -> Iterator[str]:
    spoken = page.evaluate("document.documentElement.lang")
    if spoken != look[0]:
        yield f"is in {spoken}"
    # The pages for scoring are read in the sun: always black on white.
    ground = page.evaluate("() => getComputedStyle(document.body).backgroundColor")
    sunlit = page.evaluate("() => document.querySelector('.site') !== null")
    if ground != (GROUND["light"] if sunlit else GROUND[look[1]]):
        yield f"stands on {ground}"
    width = page.evaluate("document.documentElement.scrollWidth")
    if width > WIDTH:
        yield f"is {width} pixels wide"
    yield from (f"cuts off {text!r}" for text in page.evaluate(CUT))
    page.evaluate(AXE)
    found: list[dict[str, Any]] = page.evaluate("axe.run()")["violations"]
    for violation in found:
        nodes = "; ".join(node["html"][:200] for node in violation["nodes"][:3])
        yield f"{violation['id']}: {violation['help']}: {nodes}"
