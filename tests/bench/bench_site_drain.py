"""How long a day's scores take to the server over a slow line, against the same bytes bare.

Run ``python -m tests.bench.bench_site_drain [PHOTOS]``. 300 observations and 80 photographs are
kept on a device without a signal, by the product's own modules: the pictures are painted, and
made small and kept by ``takePhoto``, as those of a camera are. Then the signal is back with
1 Mbit/s up and down and 100 ms (DevTools, Network.emulateNetworkConditions), and the scoring page
sends all of it by itself; the time ends when nothing is unsent. Chromium's processor is slowed
down 4 times. The bare side is a page that posts bodies of the same sizes, one after the other,
under the same conditions to a server that throws them away. The least is what the bytes take at
1 Mbit/s by arithmetic: where the bare side takes less, the conditions did not hold.
"""

import sys
import time
from typing import Any

from tests.bench.bare import bare
from tests.bench.served import served

OBSERVATIONS = 300
PHOTOS = 80
SLOWER = 4
SITE = "/static/site/"
BITS = 1_000_000  # a second
LINE = {
    "offline": False,
    "latency": 100,
    "uploadThroughput": BITS / 8,
    "downloadThroughput": BITS / 8,
}
# The page has its script in one piece; the modules that it was made of fill its store.
LOAD = (
    "async () => { for (const one of ['db', 'events', 'photos']) await import(`SITE${one}.js`); }"
)
FILL = """async ({ observations, photos }) => {
  const { openDb } = await import("SITEdb.js");
  const { observation } = await import("SITEevents.js");
  const { takePhoto } = await import("SITEphotos.js");
  const db = await openDb();
  const [pack] = await db.all("packs");
  const criteria = pack.standard.document.criteria.filter(({ kind }) => kind === "checked");
  const held = {};
  for (let n = 0; n < observations; n += 1) {
    const { attempt } = pack.trainees[n % pack.trainees.length];
    const { key } = criteria[Math.floor(n / pack.trainees.length) % criteria.length];
    const subject = { kind: "criterion", key };
    const replaces = held[attempt + key] ?? null;
    const value = { answer: n % 2 === 0 };
    const event = await db.append(observation({ pack, attempt, subject, value, replaces }));
    held[attempt + key] = event.id;
  }
  const canvas = new OffscreenCanvas(1600, 1200);
  const pen = canvas.getContext("2d");
  const sizes = [];
  for (let n = 0; n < photos; n += 1) {
    for (let at = 0; at < 2600; at += 1) {
      pen.fillStyle = `hsl(${Math.random() * 60} 40% ${30 + Math.random() * 50}%)`;
      const side = 8 + Math.random() * 80;
      pen.fillRect(Math.random() * 1600, Math.random() * 1200, side, side);
    }
    const file = new File([await canvas.convertToBlob({ type: "image/jpeg" })], "photo.jpg");
    const { attempt } = pack.trainees[n % pack.trainees.length];
    const subject = { kind: "criterion", key: criteria[0].key };
    sizes.push((await takePhoto(db, { pack, attempt, subject, file })).size);
  }
  const events = await db.all("events");
  db.close();
  return { sizes, events: JSON.stringify(events).length };
}"""
EMPTY = """() => new Promise((resolve) => {
  indexedDB.open("bankermark").onsuccess = ({ target }) => {
    const db = target.result;
    const tx = db.transaction(["events", "photos"]);
    let left = 0;
    for (const store of ["events", "photos"])
      tx.objectStore(store).index("sent").count(0).onsuccess = (event) => {
        left += event.target.result;
      };
    tx.oncomplete = () => { db.close(); resolve(left); };
  };
})"""
POST = """async (sizes) => {
  const bodies = sizes.map((size) => new Uint8Array(size));
  const start = performance.now();
  for (const body of bodies) await (await fetch("/", { method: "POST", body })).text();
  return (performance.now() - start) / 1000;
}"""


def main(photos: int) -> None:
    """Print the figures."""
    with served() as address, bare() as bare_address:
        ours, kept = _ours(address, photos)
        sizes = [kept["events"] // 2, kept["events"] - kept["events"] // 2, *kept["sizes"]]
        theirs = _bare(bare_address, sizes)
    least = sum(sizes) * 8 / BITS
    middle = sorted(kept["sizes"])[len(kept["sizes"]) // 2]
    print(f"sent                    {OBSERVATIONS} observations, {photos} photographs")
    print(f"photographs             {middle / 1000:8.0f} kB the middle one")
    print(f"by arithmetic           {least:8.1f} s")
    print(f"bare posts              {theirs:8.1f} s")
    print(f"until nothing is unsent {ours:8.1f} s   (aim 180 s; ratio {ours / theirs:.2f})")


def _ours(address: str, photos: int) -> tuple[float, dict[str, Any]]:
    from playwright.sync_api import sync_playwright

    from assessments.models import Observation, Photo, PhotoBytes, SetAside
    from tests.bench.browser import chromium, slow_down
    from tests.browser.site.scoring import Scorer, World, phone_of

    world = World(trainees=10)
    with sync_playwright() as playwright:
        browser = chromium(playwright)
        context = phone_of(browser)
        scorer = Scorer(context, address)
        scorer.page.set_default_timeout(60_000)
        scorer.sign_in(world.instructor)
        scorer.take()
        scorer.page.evaluate(LOAD.replace("SITE", SITE))
        devtools = slow_down(scorer.page, SLOWER)
        devtools.send("Network.enable")
        devtools.send("Network.emulateNetworkConditions", {**LINE, "offline": True})
        kept = scorer.page.evaluate(
            FILL.replace("SITE", SITE), {"observations": OBSERVATIONS, "photos": photos}
        )
        begin = time.monotonic()
        devtools.send("Network.emulateNetworkConditions", LINE)
        while scorer.page.evaluate(EMPTY):
            time.sleep(0.5)
        taken = time.monotonic() - begin
        context.close()
        browser.close()
    found = [model.objects.count() for model in (Observation, Photo, PhotoBytes, SetAside)]
    if found != [OBSERVATIONS, photos, photos, 0]:
        raise RuntimeError(f"The server has {found}.")
    return taken, kept


def _bare(address: str, sizes: list[int]) -> float:
    from playwright.sync_api import sync_playwright

    from tests.bench.browser import chromium, slow_down
    from tests.browser.site.scoring import phone_of

    with sync_playwright() as playwright:
        browser = chromium(playwright)
        page = phone_of(browser).new_page()
        page.goto(address)
        devtools = slow_down(page, SLOWER)
        devtools.send("Network.enable")
        devtools.send("Network.emulateNetworkConditions", LINE)
        taken: float = page.evaluate(POST, sizes)
        browser.close()
    return taken


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else PHOTOS)
