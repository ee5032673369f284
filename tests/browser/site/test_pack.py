"""Taking a run up from the real server, being ready for the site, and putting it away."""

from typing import Any

import pytest
from django.conf import settings
from django.test import Client
from playwright.sync_api import BrowserContext, Page

from assessments.actions.site.imports import import_events, read_events_file
from assessments.models import Observation, Pack, SetAside
from tests.assessments.builders import Yard, make_yard
from tests.browser.site.modules import OPEN, open_device
from tests.browser.site.test_outbox import at_rest

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]
TAKE = """async (run) => {
  site.pack = await site.takePack(site.db, run);
  return site.pack;
}"""
SCORE = """(value) => site.db.append(site.observation({ pack: site.pack,
  attempt: site.pack.trainees[0].attempt, subject: { kind: "criterion", key: "C1" }, value }))"""
READY = """async () => Object.fromEntries(
  (await site.checkReady(site.db, site.pack)).map(({ key, ok }) => [key, ok]))"""


@pytest.fixture
def yard(site: str) -> Yard:
    return make_yard()


@pytest.fixture
def device(profile: BrowserContext, site: str, yard: Yard) -> Page:
    """A device on which the instructor of the run has signed in."""
    client = Client()
    client.force_login(yard.instructor, backend="django.contrib.auth.backends.ModelBackend")
    client.get("/sign-in/")
    session = client.cookies[settings.SESSION_COOKIE_NAME].value
    profile.add_cookies([{"name": settings.SESSION_COOKIE_NAME, "value": session, "url": site}])
    return open_device(profile, site, None)


def take(device: Page, yard: Yard) -> dict[str, Any]:
    [run] = device.evaluate("() => site.listRuns()")
    assert run["id"] == str(yard.run.pk)
    pack: dict[str, Any] = device.evaluate(TAKE, run["id"])
    return pack


def test_a_run_is_taken_up_scored_and_sent(device: Page, yard: Yard) -> None:
    pack = take(device, yard)
    assert abs(pack["skew"]) < 60_000  # the same clock; HTTP dates have whole seconds
    assert str(Pack.objects.get().device) == device.evaluate("() => site.db.device()")["device"]

    event = device.evaluate(SCORE, {"level": 1})
    device.evaluate("() => { site.start(); }")

    assert at_rest(device)["state"] == "idle"
    observation = Observation.objects.get()
    assert (str(observation.pk), observation.value) == (event["id"], {"level": 1})
    assert observation.assessor == yard.instructor


def test_an_event_that_nobody_can_name_is_kept_aside_and_leaves_the_queue(
    device: Page, yard: Yard
) -> None:
    take(device, yard)
    event = device.evaluate(SCORE, {"level": 1})
    device.evaluate("(event) => site.db.put('events', { ...event, id: '' })", event)
    device.evaluate("() => { site.start(); }")

    assert at_rest(device)["state"] == "idle"
    assert SetAside.objects.get().body["seq"] == event["seq"]
    assert device.evaluate("() => site.db.counts()")["aside"] == 1


def test_without_a_session_it_says_sign_in(
    profile: BrowserContext, device: Page, yard: Yard
) -> None:
    take(device, yard)
    profile.clear_cookies(name=settings.SESSION_COOKIE_NAME)

    for task in ("site.listRuns", "() => site.renew(site.db, site.pack)"):
        assert device.evaluate(f"() => site.failed({task})") == ["PackError", "sign_in"]


def test_without_a_signal_it_says_so(profile: BrowserContext, device: Page) -> None:
    profile.set_offline(True)

    assert device.evaluate("() => site.failed(site.listRuns)") == ["PackError", "offline"]


def test_a_pack_that_is_not_whole_is_not_kept(
    profile: BrowserContext, device: Page, yard: Yard
) -> None:
    def change(route: Any) -> None:
        pack = route.fetch().json()
        pack["standard"]["document"]["criteria"].pop()
        route.fulfill(json=pack)

    profile.route("**/site/packs/", change)

    failed = f"() => site.failed(() => site.takePack(site.db, '{yard.run.pk}'))"
    assert device.evaluate(failed) == ["PackError", "answer"]
    assert device.evaluate("() => site.db.all('packs')") == []


def test_the_leave_to_send_is_prolonged(device: Page, yard: Yard) -> None:
    pack = take(device, yard)
    Pack.objects.update(expires_at="2126-05-04T00:00:00Z")
    device.evaluate("() => site.db.put('packs', { ...site.pack, expires_at: '2020-01-01T00:00Z' })")

    renewed = device.evaluate("() => site.renew(site.db, site.pack)")

    assert renewed["expires_at"] == pack["expires_at"]
    assert device.evaluate("(id) => site.db.get('packs', id)", pack["id"]) == renewed
    assert device.evaluate("(pack) => site.expired(pack)", renewed) is False
    assert device.evaluate("() => site.expired({ expires_at: '2020-01-01T00:00Z' })") is True


def test_a_device_is_ready_when_all_is_on_it(device: Page, yard: Yard) -> None:
    take(device, yard)
    before = device.evaluate(READY)
    assert (before["write"], before["pack"], before["clock"]) == (True, True, True)
    assert before["shell"] is False

    device.evaluate("() => site.keep()")
    device.evaluate("async () => { await navigator.serviceWorker.ready; }")
    assert device.evaluate(READY)["shell"] is True

    device.evaluate("() => { site.pack.standard.document.criteria.pop(); }")
    device.evaluate("() => { site.pack.skew = 3_600_000; }")
    device.evaluate("() => { site.db.close(); }")
    after = device.evaluate(READY)
    assert (after["write"], after["pack"], after["clock"]) == (False, False, False)


def test_only_what_is_sent_is_put_away(device: Page, yard: Yard) -> None:
    take(device, yard)
    device.evaluate(SCORE, {"level": 1})
    away = "() => site.failed(() => site.putAway(site.db, [site.pack]))"

    assert device.evaluate(away) == ["PackError", "unsent"]
    assert device.evaluate("() => site.db.counts()")["events"] == 1

    device.evaluate("() => { site.start(); }")
    at_rest(device)
    assert device.evaluate(away) is None
    assert device.evaluate("() => site.db.counts()")["events"] == 0
    assert device.evaluate("() => site.db.all('packs')") == []
    assert device.evaluate("() => site.db.device()")["last"] == 1
    device.reload()
    device.evaluate(OPEN, None)
    assert device.evaluate("() => site.db.losses()") == [], "put away is not lost"


def test_the_file_of_a_device_is_read_in_at_the_desk(device: Page, yard: Yard) -> None:
    pack = take(device, yard)
    event = device.evaluate(SCORE, {"level": 2})

    text = device.evaluate("""async () => {
      const { exportFile } = await import("/static/site/export.js");
      return (await exportFile(site.db, site.pack.assessor.id)).text();
    }""")

    document = read_events_file(text.encode())
    assert (document["device"], document["assessor"]) == (pack["device"], pack["assessor"]["id"])
    imported = import_events(actor=yard.instructor, document=document)
    assert imported.counts == {"stored": 1}
    assert str(Observation.objects.get().pk) == event["id"]
