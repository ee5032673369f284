"""A device as the fault tests use it: the product's own modules, on a page of the real browser."""

import time
from collections.abc import Callable
from typing import Any

from playwright.sync_api import Page

from assessments.models import Observation, SetAside
from tests.faults.chromium import PATIENCE

# No page of the product is at this address: its answer, a 404, runs none of the site's modules,
# but its scripts see what those at /site/ see.
BLANK = "/site/blank/"
SHELL = "/site/"

_OPEN = """async () => {
  const from = (name) => import(`/static/site/${name}.js`);
  const [store, events, outbox, mirror] = await Promise.all(
    ["db", "events", "outbox", "mirror"].map(from));
  const site = { ...events, ...outbox, ...mirror, closed: null };
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

    def open(self) -> "SiteDevice":
        """Load the modules on a page where nothing else runs, and open the store."""
        self.page.goto(self.address + BLANK)
        return self.load()

    def open_shell(self) -> "SiteDevice":
        """Open the scoring pages themselves, wait until the device keeps them, and the store."""
        self.page.goto(self.address + SHELL)
        until(lambda: bool(self.page.evaluate(_KEPT)), "The device does not keep the pages.")
        return self.load()

    def load(self) -> "SiteDevice":
        """Load the modules on the page as it is, and open the store."""
        self.page.evaluate(_OPEN)
        self.page.evaluate(_KEEP, self.pack)
        return self

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
        """Start the outbox."""
        self.page.evaluate("() => { window.site.startOutbox(window.site.db, {}); }")

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
