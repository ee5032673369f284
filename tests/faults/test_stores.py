"""What the browser keeps is damaged, or less safe than it seems: no saved event goes unseen.

Where events are lost, the device says so when it starts again and tells the server. Nothing here
proves what the file system does when the power fails: the files are cut and removed while the
browser is closed, in ways of which a power failure may be one.
"""

import shutil
from pathlib import Path

import pytest

from assessments.models import DeviceLoss, Observation
from tests.faults.chromium import OwnChromium
from tests.faults.device import SiteDevice, lost_and_doubled, until
from tests.faults.marks import slow
from tests.faults.net import Net

pytestmark = [pytest.mark.browser, pytest.mark.faults, pytest.mark.django_db(transaction=True)]

UNREGISTER = """async () => {
  for (const one of await navigator.serviceWorker.getRegistrations()) await one.unregister();
}"""
READY = """async (pack) => {
  const rows = await window.site.checkReady(window.site.db, pack);
  return Object.fromEntries(rows.map(({ key, ok, sentence }) => [key, { ok, sentence }]));
}"""


def again(device: SiteDevice, chromium: OwnChromium) -> SiteDevice:
    """Start the browser again on the same profile."""
    return SiteDevice(chromium.page(), device.address, device.pack, device.attempt).open()


def told() -> DeviceLoss:
    until(DeviceLoss.objects.exists, "The server was told of no loss.")
    return DeviceLoss.objects.get()


def databases(chromium: OwnChromium) -> Path:
    """Return the folder where Chromium keeps IndexedDB."""
    return chromium.folder / "Default" / "IndexedDB"


def test_database_gone_while_the_cookie_stays(
    device: SiteDevice, chromium_to_kill: OwnChromium
) -> None:
    """As after a browser that makes room: found at the next start, shown, told to the server."""
    epoch = device.open().device()["epoch"]
    device.save(5)
    chromium_to_kill.close()
    shutil.rmtree(databases(chromium_to_kill))
    device = again(device, chromium_to_kill)
    loss = device.loss()
    assert loss is not None
    assert (loss["epoch"], loss["last"], loss["found"], loss["unsent"]) == (epoch, 5, 0, 5)
    assert device.device()["epoch"] > epoch
    assert device.device()["device"] == device.pack["device"]
    saved = device.save(3)
    device.send_all()
    assert lost_and_doubled(saved) == (0, 0)
    assert (told().last_seq, told().found_seq, told().unsent) == (5, 0, 5)


@slow
def test_files_of_the_database_cut(device: SiteDevice, chromium_to_kill: OwnChromium) -> None:
    """The end of the log that LevelDB writes is cut off; what stands before it is sent."""
    device.open().save(20)
    chromium_to_kill.close()
    logs = sorted(databases(chromium_to_kill).glob("*.leveldb/*.log"))
    log = max(logs, key=lambda path: path.stat().st_size)
    with log.open("r+b") as file:
        file.truncate(log.stat().st_size * 3 // 4)
    device = again(device, chromium_to_kill)
    stored = device.stored()
    assert 0 < len(stored) < 20
    assert [event["seq"] for event in stored] == list(range(1, len(stored) + 1))
    loss = device.loss()
    assert loss is not None
    assert (loss["last"], loss["found"], loss["unsent"]) == (20, len(stored), 20)
    saved = [event["id"] for event in stored] + device.save(2)
    device.send_all()
    assert lost_and_doubled(saved) == (0, 0)
    assert (told().last_seq, told().found_seq) == (20, len(stored))


@slow
def test_cookies_cleared_while_the_database_stays(device: SiteDevice) -> None:
    """Nothing is lost, and nothing is called lost; the cookie is written anew."""
    saved = device.open().save(5)
    device.page.context.clear_cookies()
    device.open()
    assert device.loss() is None
    assert device.page.evaluate("() => window.site.read()")["last"] == 5
    saved += device.save(2)
    device.send_all()
    assert lost_and_doubled(saved) == (0, 0)
    assert [event["seq"] for event in device.stored()] == list(range(1, 8))
    assert Observation.objects.count() == 7


@slow
def test_worker_unregistered_with_unsent_events(device: SiteDevice, net: Net) -> None:
    """The pages no longer open without a signal, and say so; the events are there and go."""
    net.faults = ["500"] * 1000
    saved = device.open_shell().save(5)
    device.page.evaluate(UNREGISTER)
    device.open()
    assert not device.page.evaluate(READY, device.pack)["shell"]["ok"]
    assert [event["id"] for event in device.stored()] == saved
    device.open_shell()  # with a signal the pages are kept again
    assert device.page.evaluate(READY, device.pack)["shell"]["ok"]
    net.faults.clear()
    device.drain()
    assert lost_and_doubled(saved) == (0, 0)
    assert Observation.objects.count() == 5


@slow
def test_storage_that_is_not_persistent_is_told(device: SiteDevice) -> None:
    saved = device.open().save(5)
    granted = device.page.evaluate("() => navigator.storage.persisted()")
    row = device.page.evaluate(READY, device.pack)["persistent"]
    assert not granted
    assert not row["ok"]
    assert row["sentence"].startswith("The browser may clear what is saved here")
    device.send_all()
    assert lost_and_doubled(saved) == (0, 0)
