"""Pages that end, freeze or change hands while events are unsent."""

import pytest

from assessments.models import Observation, Photo, PhotoBytes
from tests.assessments.builders import Yard
from tests.factories import make_role
from tests.faults.chromium import OwnChromium
from tests.faults.device import SiteDevice, lost_and_doubled, taken_up, until
from tests.faults.marks import slow
from tests.faults.net import Net
from training.models import Role

pytestmark = [pytest.mark.browser, pytest.mark.faults, pytest.mark.django_db(transaction=True)]

OPENED = "async (pack) => { await window.site.opened(window.site.db, pack); }"
LOCKED = "async () => (await window.site.locks(window.site.db)).locked"
INTENT = """async ({ pack, attempt }) => {
  const subject = { kind: "criterion", key: "C4" };
  await window.site.intent(window.site.db, { pack, attempt, subject, stage: "set" });
}"""
INTENTS = "async () => await window.site.openIntents(window.site.db)"
TAKE = """async ({ pack, attempt }) => {
  const canvas = new OffscreenCanvas(640, 480);
  const pen = canvas.getContext("2d");
  for (let n = 0; n < 400; n += 1) {
    pen.fillStyle = `hsl(${(n * 37) % 360} 60% 50%)`;
    pen.fillRect((n * 53) % 640, (n * 71) % 480, 60, 40);
  }
  const blob = await canvas.convertToBlob({ type: "image/jpeg" });
  const file = new File([blob], "photo.jpg", { type: "image/jpeg" });
  const subject = { kind: "criterion", key: "C4" };
  const { db, takePhoto } = window.site;
  return (await takePhoto(db, { pack, attempt, subject, stage: "set", file })).id;
}"""
UNSENT_PHOTOS = "async () => (await window.site.db.counts()).unsentPhotos"


def test_another_assessor_takes_over_with_unsent_events(
    yard: Yard, device: SiteDevice, net: Net
) -> None:
    """Each event stays its assessor's, goes with that assessor's pack, and is theirs at the end."""
    second = make_role(Role.Kind.INSTRUCTOR, yard.provider)
    yard.run.instructors.add(second)
    first_saved = device.open().save(5)
    pack, attempt = taken_up(yard, second, device.device()["device"])
    other = SiteDevice(device.page, device.address, pack, attempt).load()
    device.page.evaluate(OPENED, pack)
    assert device.page.evaluate(LOCKED) == [str(yard.instructor.pk)]
    second_saved = other.save(5)
    assert device.unsent() == 10
    net.faults = ["401"]  # what is refused for one does not hold up the other
    device.send_all()
    assert lost_and_doubled(first_saved + second_saved) == (0, 0)
    assert net.sizes[:3] == [5, 5, 5]
    for person, saved in ((yard.instructor, first_saved), (second, second_saved)):
        theirs = Observation.objects.filter(assessor=person).values_list("pk", flat=True)
        assert {str(pk) for pk in theirs} == set(saved)


@slow
def test_page_killed_while_the_camera_is_open(
    device: SiteDevice, chromium_to_kill: OwnChromium
) -> None:
    """The photograph that never came is asked for at the next start."""
    saved = device.open().save(3)
    given = {"pack": device.pack, "attempt": device.attempt}
    device.page.evaluate(INTENT, given)
    chromium_to_kill.kill()
    device = SiteDevice(chromium_to_kill.page(), device.address, device.pack, device.attempt).open()
    [missing] = device.page.evaluate(INTENTS)
    assert missing["subject"] == {"kind": "criterion", "key": "C4"}
    assert missing["sentence"].startswith("The camera was opened for Criterion C4 of ")
    taken = device.page.evaluate(TAKE, given)
    assert device.page.evaluate(INTENTS) == []
    device.send_all()
    until(lambda: device.page.evaluate(UNSENT_PHOTOS) == 0, "The photo stayed.", device.send_now)
    assert lost_and_doubled(saved) == (0, 0)
    assert Observation.objects.count() == 3
    photo = Photo.objects.get()
    assert str(photo.pk) == taken
    assert PhotoBytes.objects.get().pk == photo.sha256


@slow
def test_page_killed_before_its_request_arrives(
    device: SiteDevice, chromium_to_kill: OwnChromium, net: Net
) -> None:
    saved = device.open().save(10)
    net.faults = ["lose"] * 1000
    device.start_sending()
    until(lambda: net.seen > 0, "Nothing was sent.", device.send_now)
    chromium_to_kill.kill()
    net.faults.clear()
    assert Observation.objects.count() == 0
    device = SiteDevice(chromium_to_kill.page(), device.address, device.pack, device.attempt).open()
    assert device.unsent() == 10
    device.send_all()
    assert lost_and_doubled(saved) == (0, 0)
    assert Observation.objects.count() == 10


@slow
def test_frozen_while_saving_and_sending(device: SiteDevice, net: Net) -> None:
    """As a phone does with a tab that is out of sight."""
    devtools = device.page.context.new_cdp_session(device.page)
    device.open()
    net.faults = ["500"]
    device.begin_saving(60)
    until(lambda: len(net.told) >= 10, "Nothing was saved.")
    device.start_sending()
    devtools.send("Page.setWebLifecycleState", {"state": "frozen"})
    devtools.send("Page.setWebLifecycleState", {"state": "active"})
    until(lambda: len(net.told) == 60, "It did not go on saving.")
    device.drain()
    assert lost_and_doubled(net.told) == (0, 0)
    assert [event["seq"] for event in device.stored()] == list(range(1, 61))
    assert Observation.objects.count() == 60


@slow
def test_back_from_the_pages_that_were_left(device: SiteDevice, net: Net) -> None:
    """The page comes back as it was, its store open, and sends what was saved before."""
    net.faults = ["500"] * 1000
    saved = device.open_shell().save(5)
    page = device.page
    page.evaluate("() => { window.kept = true; }")
    page.evaluate(
        "() => addEventListener('pageshow', (event) => { window.back = event.persisted; })"
    )
    page.goto("about:blank")
    net.faults.clear()
    page.go_back(wait_until="commit")
    page.locator("#app h1").wait_for()
    assert page.evaluate("() => window.kept === true && window.back === true")
    device.drain()
    saved += device.save(2)
    device.send_now()
    device.drain()
    assert lost_and_doubled(saved) == (0, 0)
    assert Observation.objects.count() == 7
