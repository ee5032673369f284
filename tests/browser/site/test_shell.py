"""The pages open without a signal, and a new version waits until everything is sent."""

from typing import Any

import pytest
from playwright.sync_api import BrowserContext, Page

from assessments.views.site import shell
from tests.browser.site.modules import open_device
from tests.browser.site.test_outbox import Server, at_rest, sign_in_page, stored

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]
ACTIVE = "async () => { await navigator.serviceWorker.ready; }"
CACHES = "async () => (await caches.keys()).filter((name) => name.startsWith('shell-'))"
UPDATE = """async () => {
  const registration = await navigator.serviceWorker.getRegistration("/site/");
  await registration.update();
  const settled = () => registration.waiting || !registration.installing;
  while (!settled()) await new Promise((done) => setTimeout(done, 20));
  return Boolean(registration.waiting);
}"""


def started(page: Page) -> Page:
    page.evaluate("() => site.keep()")
    page.evaluate("() => { site.start(); }")
    page.evaluate(ACTIVE)
    return page


def test_the_pages_open_again_without_a_signal(profile: BrowserContext, site: str) -> None:
    page = profile.new_page()
    page.goto(site + "/site/")
    page.wait_for_selector("#app h1")
    page.evaluate(ACTIVE)
    heading = page.text_content("#app h1")

    profile.set_offline(True)
    page.reload()

    page.wait_for_selector("#app h1")
    assert page.text_content("#app h1") == heading
    assert page.evaluate("() => document.styleSheets.length") == 3
    assert page.evaluate("async () => (await fetch('/healthz').catch(() => null))") is None


def test_a_new_version_waits_until_everything_is_sent(
    profile: BrowserContext, site: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    Server(profile, sign_in_page)
    page = started(open_device(profile, site))
    page.evaluate("() => site.save()")
    page.evaluate("() => site.sendNow()")
    [before] = page.evaluate(CACHES)

    monkeypatch.setattr(shell, "OTHER_FILES", (*shell.OTHER_FILES, "img/mark.svg"))
    assert page.evaluate(UPDATE) is True
    page.evaluate("() => site.sendNow()")

    assert page.evaluate(UPDATE) is True
    assert before in page.evaluate(CACHES)
    assert at_rest(page)["unsent"] == 1

    profile.unroute("**/site/events/")
    Server(profile, stored)
    page.evaluate("() => site.sendNow()")

    page.wait_for_function(f"async (before) => !(await ({CACHES})()).includes(before)", arg=before)


@pytest.mark.parametrize(
    "answer",
    [
        {"status": 200, "content_type": "text/javascript", "body": "/* of another version */"},
        {"status": 404, "body": "Not found"},
    ],
    ids=["another file", "no file"],
)
def test_a_shell_that_does_not_come_whole_is_not_kept(
    profile: BrowserContext, site: str, answer: dict[str, Any], monkeypatch: pytest.MonkeyPatch
) -> None:
    page = started(open_device(profile, site))
    before = page.evaluate(CACHES)
    profile.route("**/static/img/mark.svg", lambda route: route.fulfill(**answer))

    monkeypatch.setattr(shell, "OTHER_FILES", (*shell.OTHER_FILES, "img/mark.svg"))

    assert page.evaluate(UPDATE) is False
    assert page.evaluate(CACHES) == before
