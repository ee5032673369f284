"""The product's own modules on a page where nothing else of the product runs."""

from typing import Any

from playwright.sync_api import BrowserContext, Page

# No page of the product is at this address: its answer, a 404, runs none of the modules, but
# its scripts see the store, the cookie and the worker of the pages at /site/.
BLANK = "/site/blank/"
PACK = {
    "id": "0192f0c0-0000-7000-8000-000000000001",
    "token": "a-token",
    "expires_at": "2126-01-01T00:00:00Z",
    "taken_at": "2026-01-01T00:00:00Z",
    "assessor": {"id": 7, "name": "Tomasz Wieland"},
    "run": {"id": "0192f0c0-0000-7000-8000-00000000000b"},
    "standard": {"digest": "0" * 64},
}
OPEN = """async (pack) => {
  const names = ["db", "events", "mirror", "outbox", "pack", "ready", "shell"];
  const found = await Promise.all(names.map((name) => import(`/static/site/${name}.js`)));
  const site = Object.assign({ closed: null }, ...found);
  site.db = await site.openDb({ onClosed: (sentence) => { site.closed = sentence; } });
  if (pack) await site.db.put("packs", pack);
  const subject = { kind: "criterion", key: "arris" };
  site.save = (note = "") => site.db.append(
    site.observation({ pack: site.pack, attempt: "a1", subject, value: { level: 1 }, note }));
  site.pack = pack;
  site.failed = async (task) => {
    try { await task(); return null; } catch (error) { return [error.name, error.kind]; }
  };
  site.start = () => site.startOutbox(site.db, { onChange: (state) => {
    site.state = state;
    site.offer?.();
  } });
  site.keep = async () => {
    const unsent = async () => (await site.db.counts()).unsent;
    site.offer = await site.startShell({ unsent });
  };
  window.site = site;
}"""


def open_device(profile: BrowserContext, address: str, pack: dict[str, Any] | None = PACK) -> Page:
    """Open a tab with ``window.site``: every module's names, ``db``, ``save`` and ``start``."""
    page = profile.new_page()
    page.goto(address + BLANK)
    page.evaluate(OPEN, pack)
    return page
