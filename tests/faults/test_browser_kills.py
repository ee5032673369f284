"""Chromium is killed, cut off and robbed; the server ends up with every saved event, once.

Saved means that the promise of the store's ``append`` was kept, which the page told the test
before the blow. SIGKILL takes all processes of the browser at once, as the system of a phone
does. It does not prove what happens when the power fails: what the browser has handed to the
kernel survives its death, so neither the kernel's cache nor the disk's is put to the test, and
``durability: strict`` makes no difference here that a test could see.
"""

from datetime import UTC, datetime

import pytest
from playwright.sync_api import Error, expect

from assessments.models import DeviceLoss, Observation, SetAside
from tests.faults.chromium import OwnChromium
from tests.faults.device import BLANK, SiteDevice, lost_and_doubled, until
from tests.faults.marks import slow
from tests.faults.net import Net

pytestmark = [pytest.mark.browser, pytest.mark.faults, pytest.mark.django_db(transaction=True)]


DELETE = """() => new Promise((resolve, reject) => {
  const request = indexedDB.deleteDatabase("bankermark");
  request.onsuccess = () => resolve();
  request.onerror = () => reject(request.error);
})"""
UPDATE = "async () => { await (await navigator.serviceWorker.ready).update(); }"
WAITING = "async () => (await navigator.serviceWorker.ready).waiting !== null"
CUT = """(kept) => window.site.db.run(["meta", "events"], "readwrite", (tx) => {
  tx.objectStore("meta").put(kept);
  const after = IDBKeyRange.bound([kept.epoch, kept.last + 1], [kept.epoch, Infinity]);
  tx.objectStore("events").delete(after);
})"""


def again(device: SiteDevice, chromium: OwnChromium) -> SiteDevice:
    """Start the killed browser on the same profile."""
    return SiteDevice(chromium.page(), device.address, device.pack, device.attempt).open()


def told_loss() -> tuple[int, int, int]:
    """Return (last, found, unsent) of the one loss that the device told the server."""
    until(DeviceLoss.objects.exists, "The server was told of no loss.")
    loss = DeviceLoss.objects.get()
    return loss.last_seq, loss.found_seq, loss.unsent


def test_killed_when_idle(device: SiteDevice, chromium_to_kill: OwnChromium) -> None:
    saved = device.open().save(20)
    chromium_to_kill.kill()
    device = again(device, chromium_to_kill)
    assert [event["id"] for event in device.stored()] == saved
    device.send_all()
    assert lost_and_doubled(saved) == (0, 0)
    assert Observation.objects.count() == 20


def test_killed_while_saving(device: SiteDevice, chromium_to_kill: OwnChromium, net: Net) -> None:
    device.open().begin_saving(5000)
    until(lambda: len(net.told) >= 40, "Nothing was saved.")
    chromium_to_kill.kill()
    saved = list(net.told)
    device = again(device, chromium_to_kill)
    stored = device.stored()
    assert set(saved) <= {event["id"] for event in stored}
    assert [event["seq"] for event in stored] == list(range(1, len(stored) + 1))
    device.send_all()
    assert lost_and_doubled(saved) == (0, 0)
    assert Observation.objects.count() == len(stored)


def test_killed_between_commit_and_answer(
    device: SiteDevice, chromium_to_kill: OwnChromium, net: Net
) -> None:
    saved = device.open().save(10)
    net.faults = ["hold"]
    device.start_sending()
    until(net.held.is_set, "Nothing was sent.")
    chromium_to_kill.kill()
    net.let_go.set()
    assert Observation.objects.count() == 10
    device = again(device, chromium_to_kill)
    assert device.unsent() == 10
    device.send_all()
    assert lost_and_doubled(saved) == (0, 0)
    assert Observation.objects.count() == 10


def test_answer_dropped_after_commit(device: SiteDevice, net: Net) -> None:
    saved = device.open().save(10)
    net.faults = ["drop answer"] * 2
    device.send_all()
    assert net.seen >= 3
    assert lost_and_doubled(saved) == (0, 0)
    assert Observation.objects.count() == 10


def test_error_page_and_login_page_acknowledge_nothing(device: SiteDevice, net: Net) -> None:
    saved = device.open().save(10)
    net.faults = ["500", "login page"]
    device.start_sending()
    until(lambda: net.seen >= 2, "It did not try again.", device.send_now)
    device.drain()
    assert net.seen >= 3
    assert lost_and_doubled(saved) == (0, 0)
    assert Observation.objects.count() == 10


def test_reloaded_without_a_signal(device: SiteDevice, net: Net) -> None:
    device.open_shell()
    net.down = True
    device.page.reload()
    expect(device.page.locator("#app h1")).to_be_visible()
    saved = device.load().save(5)
    device.page.reload()
    assert [event["id"] for event in device.load().stored()] == saved
    net.down = False
    device.page.reload()
    device.load().drain()
    assert lost_and_doubled(saved) == (0, 0)
    assert Observation.objects.count() == 5


@slow
def test_new_pages_wait_while_something_is_unsent(device: SiteDevice, net: Net) -> None:
    net.faults = ["500"] * 1000
    device.open_shell()
    saved = device.save(3)
    before = device.page.evaluate("() => caches.keys()")
    net.shell_version = "next"
    device.page.evaluate(UPDATE)
    until(lambda: bool(device.page.evaluate(WAITING)), "No new version came.")
    device.send_now()
    assert device.page.evaluate("() => caches.keys()") == [*before, "shell-next"]
    assert device.unsent() == 3
    net.faults.clear()
    device.drain()
    until(
        lambda: device.page.evaluate("() => caches.keys()") == ["shell-next"],
        "The new version did not take over.",
        device.send_now,
    )
    assert lost_and_doubled(saved) == (0, 0)
    assert Observation.objects.count() == 3


def test_two_tabs_save_and_send_at_once(device: SiteDevice, net: Net) -> None:
    page = device.page.context.new_page()
    other = SiteDevice(
        page, device.address, device.pack, device.pack["trainees"][1]["attempt"]
    ).open()
    device.open()
    for tab in (device, other):
        tab.start_sending()
        tab.begin_saving(25)
    until(lambda: len(net.told) == 50, "Not all were saved.")
    device.drain()
    stored = device.stored()
    assert [event["seq"] for event in stored] == list(range(1, 51))
    assert len({event["epoch"] for event in stored}) == 1
    assert lost_and_doubled(net.told) == (0, 0)
    assert Observation.objects.count() == 50
    assert SetAside.objects.count() == 0


@slow
def test_database_deleted_under_an_open_page(device: SiteDevice) -> None:
    device.open().save(5)
    page = device.page.context.new_page()
    page.goto(device.address + BLANK)
    page.evaluate(DELETE)
    # Nothing is saved any more, and the page says so instead of seeming to save.
    assert device.page.evaluate("() => window.site.closed")
    with pytest.raises(Error, match="Nothing was saved"):
        device.save(1)
    device.open()
    loss = device.page.evaluate("() => window.site.checkLoss(window.site.db)")
    assert (loss["last"], loss["found"], loss["unsent"]) == (5, 0, 5)
    saved = device.save(3)
    device.send_all()
    assert lost_and_doubled(saved) == (0, 0)
    assert told_loss() == (5, 0, 5)


@slow
def test_tail_of_the_log_cut(device: SiteDevice) -> None:
    """As after a store that comes back older than it was: the last writes are undone."""
    device.open().save(3)
    kept = device.page.evaluate("() => window.site.db.device()")
    device.save(4)
    device.page.evaluate(CUT, kept)
    device.open()
    loss = device.page.evaluate("() => window.site.checkLoss(window.site.db)")
    assert (loss["last"], loss["found"], loss["unsent"]) == (7, 3, 7)
    saved = [event["id"] for event in device.stored()] + device.save(2)
    device.send_all()
    assert len(saved) == 5
    assert lost_and_doubled(saved) == (0, 0)
    assert told_loss() == (7, 3, 7)


@slow
def test_clock_set_back(device: SiteDevice) -> None:
    saved = device.open().save(3)
    device.page.clock.set_fixed_time(datetime(1999, 12, 31, tzinfo=UTC))
    saved += device.save(3)
    device.send_all()
    assert lost_and_doubled(saved) == (0, 0)
    last = Observation.objects.get(replaced_by__isnull=True)
    assert str(last.pk) == saved[-1]
    assert last.device_time.year in (1999, 2000)


@slow
def test_no_room_left(device: SiteDevice, chromium_to_kill: OwnChromium) -> None:
    saved = device.open().save(3)
    chromium_to_kill.kill()  # the browser asks how much room is left only now and then
    page = chromium_to_kill.page()
    devtools = page.context.new_cdp_session(page)
    quota = {"origin": device.address}
    devtools.send("Storage.overrideQuotaForOrigin", {**quota, "quotaSize": 1})
    device = SiteDevice(page, device.address, device.pack, device.attempt).open()
    with pytest.raises(Error, match="no room left"):
        device.save(1)
    devtools.send("Storage.overrideQuotaForOrigin", quota)
    saved += device.save(2)
    assert [event["seq"] for event in device.stored()] == [1, 2, 3, 4, 5]
    device.send_all()
    assert lost_and_doubled(saved) == (0, 0)
    assert Observation.objects.count() == 5
