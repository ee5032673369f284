"""An instructor's device without a signal: pressed offline, sent once there is one, stored once."""

from collections.abc import Iterator
from typing import Any

import pytest
from django.utils import timezone
from playwright.sync_api import Browser, BrowserContext, Page, expect
from pytest_django.live_server_helper import LiveServer

from tests.collected import collect
from tests.factories import PASSWORD, enrol, make_person
from tests.training.presence.builders import HOUR, make_session
from tests.training.yard import make_yard
from training.models import Attendance

pytestmark = pytest.mark.browser
WAIT = 45_000  # ms; what is waited for comes in a second or two where nothing else runs


@pytest.fixture
def site(
    transactional_db: None,
    data_in_a_folder_of_its_own: None,
    settings: Any,
    monkeypatch: pytest.MonkeyPatch,
) -> Iterator[str]:
    """Serve the joined script, by WhiteNoise, as a deployment does; yields the address."""
    collect(settings)
    # The test server would answer with the sources itself.
    monkeypatch.setattr("django.contrib.staticfiles.handlers.StaticFilesHandler", lambda app: app)
    server = LiveServer("127.0.0.1")
    yield server.url
    server.stop()


@pytest.fixture
def device(chromium: Browser) -> Iterator[BrowserContext]:
    """A phone; offline, a failed fetch in its console is no mistake."""
    context = chromium.new_context(viewport={"width": 360, "height": 740})
    yield context
    context.close()


def pressed(page: Page, kind: str, name: str) -> None:
    page.get_by_role("button", name=f"{kind}: {name}").click()


def test_pressed_without_a_signal_and_stored_once(site: str, device: BrowserContext) -> None:
    yard = make_yard()
    other = enrol(yard.run, make_person("Osric Tarnbeck")).person
    now = timezone.now()
    make_session(yard.run, title="Raking out", starts_at=now, ends_at=now + 2 * HOUR)
    page = device.new_page()
    faults: list[str] = []
    page.on("pageerror", lambda error: faults.append(str(error)))
    page.goto(f"{site}/sign-in/?next=/site/presence/")
    page.get_by_label("E-mail address").fill(yard.teacher.email)
    page.get_by_label("Password").fill(PASSWORD)
    page.get_by_role("main").get_by_role("button", name="Sign in").click()
    page.get_by_role("link", name="Raking out").click(timeout=WAIT)
    page.wait_for_function(
        "() => navigator.serviceWorker.getRegistration('/site/presence/')"
        ".then((it) => it?.active?.state === 'activated')",
        timeout=WAIT,
    )

    device.set_offline(True)
    page.reload()
    pressed(page, "Came", yard.trainee.full_name)
    pressed(page, "Was not there", "Osric Tarnbeck")
    expect(page.get_by_text("2 to send")).to_be_visible(timeout=WAIT)
    pressed(page, "Came", "Osric Tarnbeck")  # there after all: takes the press before back
    expect(page.get_by_text("3 to send")).to_be_visible(timeout=WAIT)
    page.reload()  # what was pressed is on the device, not on the page
    expect(page.get_by_text("3 to send")).to_be_visible(timeout=WAIT)
    assert Attendance.objects.count() == 0
    widths = page.evaluate("[document.documentElement.scrollWidth, innerWidth]")
    assert widths[0] <= widths[1]

    device.set_offline(False)
    expect(page.get_by_text("all sent")).to_be_visible(timeout=WAIT)
    page.reload()
    expect(page.get_by_text("all sent")).to_be_visible(timeout=WAIT)

    rows = Attendance.objects.filter(replaced_by__isnull=True)
    assert {(row.person_id, row.kind, row.how) for row in rows} == {
        (yard.trainee.pk, "came", "device"),
        (other.pk, "came", "device"),
    }
    assert Attendance.objects.count() == 3
    assert faults == []
