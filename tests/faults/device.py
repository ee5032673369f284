"""A device as the fault tests use it: the product's own modules, on a page of the real browser."""

import time
import uuid
from collections.abc import Callable
from typing import Any

from playwright.sync_api import Page

from assessments.actions.site.packs import take_pack
from assessments.models import Observation, SetAside
from assessments.queries.site.pack_document import pack_document
from tests.assessments.builders import Yard
from tests.faults.chromium import PATIENCE
from training.models import Person

# No page of the product is at this address: its answer, a 404, runs none of the site's modules,
# but its scripts see what those at /site/ see.
BLANK = "/site/blank/"
SHELL = "/site/"

_OPEN = """async () => {
  const from = (name) => import(`/static/site/${name}.js`);
  const [store, events, outbox, mirror, ...others] = await Promise.all(
    ["db", "events", "outbox", "mirror", "lock", "pack", "photos", "ready"].map(from));
  const more = Object.assign({}, ...others);
  const site = { ...events, ...outbox, ...mirror, ...more, closed: null };
  site.db = await store.openDb({ onClosed: (sentence) => { site.closed = sentence; } });
  window.site = site;
}"""
_KEPT = """async () => {
  const { shellKept } = await import("/static/site/shell.js");
  return shellKept();
}"""
_KEEP = """async (pack) => {
  const { db } = window.site;
  if (!(await db.get("packs", pack.id))) await db.put("packs", pack);
}"""
_SAVE = """async ({ pack, attempt, count, slow }) => {
  const { db, observation, current } = window.site;
  const subject = { kind: "criterion", key: "C4" };
  const held = current(await db.all("events"), pack.assessor.id, attempt);
  let replaces = held.get("criterion:C4")?.id ?? null;
  const ids = [];
  for (let number = 0; number < count; number += 1) {
    const event = await db.append(
      observation({ pack, attempt, subject, value: { count: number }, replaces }));
    replaces = event.id;
    ids.push(event.id);
    if (slow) fetch(`/told/${event.id}`).catch(() => {});
  }
  return ids;
}"""


class SiteDevice:
    """The store and the outbox on ``page``, with one pack of one assessor."""

    def __init__(self, page: Page, address: str, pack: dict[str, Any], attempt: str) -> None:
        self.page = page
        self.address = address
        self.pack = pack
        self.attempt = attempt

    def open(self, *, keep: bool = True) -> "SiteDevice":
        """Load the modules on a page where nothing else runs, and open the store."""
        self.page.goto(self.address + BLANK)
        return self.load(keep=keep)

    def open_shell(self) -> "SiteDevice":
        """Open the scoring pages themselves, wait until the device keeps them, and the store."""
        self.page.goto(self.address + SHELL)
        until(lambda: bool(self.page.evaluate(_KEPT)), "The device does not keep the pages.")
        return self.load()

    def load(self, *, keep: bool = True) -> "SiteDevice":
        """Load the modules on the page as it is, open the store, keep the pack unless it is."""
        self.page.evaluate(_OPEN)
        if keep:
            self.page.evaluate(_KEEP, self.pack)
        return self

    def device(self) -> dict[str, Any]:
        """Return what the store says of itself: device, epoch, last."""
        device: dict[str, Any] = self.page.evaluate("() => window.site.db.device()")
        return device

    def save(self, count: int) -> list[str]:
        """Save ``count`` events, each a correction of the one before; return their ids."""
        given = {"pack": self.pack, "attempt": self.attempt, "count": count}
        ids: list[str] = self.page.evaluate(_SAVE, given)
        return ids

    def begin_saving(self, count: int) -> None:
        """Start to save ``count`` events; the net is told the id of each that is saved."""
        given = {"pack": self.pack, "attempt": self.attempt, "count": count, "slow": True}
        self.page.evaluate(f"(given) => {{ ({_SAVE})(given); }}", given)

    def stored(self) -> list[dict[str, Any]]:
        """Return the events in the store, in their order."""
        events: list[dict[str, Any]] = self.page.evaluate("() => window.site.db.all('events')")
        return events

    def unsent(self) -> int:
        """Return how many events wait."""
        return int(self.page.evaluate("async () => (await window.site.db.counts()).unsent"))

    def start_sending(self) -> None:
        """Start the outbox; its state is kept for ``state``."""
        self.page.evaluate("""() => {
          const { site } = window;
          site.startOutbox(site.db, { onChange: (state) => { site.state = state; } });
        }""")

    def state(self) -> dict[str, Any]:
        """Return what the outbox said last: state, unsent, sentence and others."""
        state: dict[str, Any] = self.page.evaluate("() => window.site.state ?? {}")
        return state

    def loss(self) -> dict[str, Any] | None:
        """Return the loss that the page would show."""
        loss: dict[str, Any] | None = self.page.evaluate(
            "() => window.site.checkLoss(window.site.db)"
        )
        return loss

    def send_now(self) -> None:
        """Ask the outbox not to wait any longer."""
        self.page.evaluate("() => { window.site.sendNow(); }")

    def send_all(self) -> None:
        """Start the outbox and wait until nothing is unsent."""
        self.start_sending()
        self.drain()

    def drain(self) -> None:
        """Wait until nothing is unsent; a wait between tries is cut short."""
        until(lambda: self.unsent() == 0, "Events stayed unsent.", self.send_now)


def device_of(page: Page, address: str) -> str:
    """Let the page make its store, and return the id that the device gave itself."""
    found: str = SiteDevice(page, address, {}, "").open(keep=False).device()["device"]
    page.goto("about:blank")
    return found


def taken_up(yard: Yard, assessor: Person, device: str) -> tuple[dict[str, Any], str]:
    """Take the run up; return the pack and the first trainee's attempt."""
    taken = take_pack(actor=assessor, run=yard.run, device=uuid.UUID(device))
    pack = pack_document(taken)
    return pack, pack["trainees"][0]["attempt"]


def until(
    state: Callable[[], bool], failure: str, meanwhile: Callable[[], None] = lambda: None
) -> None:
    """Wait for ``state``; fail with ``failure`` when it does not come."""
    end = time.monotonic() + PATIENCE
    while not state():
        assert time.monotonic() < end, failure
        meanwhile()
        time.sleep(0.1)


def lost_and_doubled(saved: list[str]) -> tuple[int, int]:
    """Return how many of the ``saved`` events the server lacks, and how many it has twice."""
    observed = [str(pk) for pk in Observation.objects.values_list("pk", flat=True)]
    aside = list(SetAside.objects.values_list("event_id", flat=True))
    held = [*observed, *aside]
    return len(set(saved) - set(held)), len(held) - len(set(held))
