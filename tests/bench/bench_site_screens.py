"""How the scoring screens answer a thumb on a slow phone, against a bare page in the same run.

Run ``python -m tests.bench.bench_site_screens [SHEETS]``. Whole sheets of the dutchman program
are scored key by key through the real screens, as served, in Chromium with its processor slowed
down 4 times, at 360 x 740, while the server cannot be reached. Printed are:

- tap to durable: from the ``pointerup`` of a key to the ``complete`` event of the transaction on
  the store of events that it began. Both are seen from outside, by a script that wraps
  IDBDatabase.transaction; the product is not changed.
- INP: the durations of event timing (PerformanceEventTiming, entries from 16 ms on) of all keys,
  the 98th percentile as web.dev defines it: of n interactions the worst but n / 50.
- opening: the largest contentful paint of a reload without a signal, of a sheet half scored.

The bare page has one key, writes the same event with strict durability, and is kept by a worker
of its own. The aims are printed beside the figures; nothing is asserted.
"""

import json
import sys
from statistics import median, quantiles
from typing import Any

from tests.bench.bare import bare
from tests.bench.served import served

SHEETS = 13
EVENTS = 16  # of a sheet
SLOWER = 4
RELOADS = 7
WATCH = """(() => {
  const marks = { taps: [], events: {}, released: null };
  window.marks = marks;
  addEventListener("pointerup", (event) => { marks.released = event.timeStamp; }, true);
  const plain = IDBDatabase.prototype.transaction;
  IDBDatabase.prototype.transaction = function transaction(stores, mode, options) {
    const tx = plain.call(this, stores, mode, options);
    const { released } = marks;
    if (mode === "readwrite" && [].concat(stores).includes("events") && released !== null) {
      marks.released = null;
      tx.addEventListener("complete", () => marks.taps.push(performance.now() - released));
    }
    return tx;
  };
  new PerformanceObserver((list) => {
    for (const { interactionId, duration } of list.getEntries())
      if (interactionId)
        marks.events[interactionId] = Math.max(marks.events[interactionId] ?? 0, duration);
  }).observe({ type: "event", durationThreshold: 16, buffered: true });
})();"""
READ = """() => ({
  taps: window.marks.taps,
  durations: Object.values(window.marks.events),
  count: performance.interactionCount,
})"""
PAINT = """() => new Promise((resolve) => {
  new PerformanceObserver((list) => resolve(list.getEntries().at(-1).startTime))
    .observe({ type: "largest-contentful-paint", buffered: true });
})"""


def main(sheets: int) -> None:
    """Print the figures."""
    with served() as address, bare() as bare_address:
        ours, model = _ours(address, sheets)
        theirs = _bare(bare_address, model, len(ours["taps"]))
    print(f"events saved by a key   {len(ours['taps'])}, processor slowed down {SLOWER} times")
    _row("tap to durable, median", median(ours["taps"]), median(theirs["taps"]), "")
    _row("tap to durable, 95 %", _95(ours["taps"]), _95(theirs["taps"]), "aim 50 ms; ")
    first, last = median(ours["taps"][:EVENTS]), median(ours["taps"][-EVENTS:])
    print(f"median of a sheet       {first:8.1f} ms the first, {last:.1f} ms the last")
    print(f"interactions            {ours['count']}, bare {theirs['count']}")
    _row("INP", _inp(ours), _inp(theirs), "aim 100 ms; ")
    _row("opening, no signal", median(ours["paints"]), median(theirs["paints"]), "aim 1000 ms; ")


def _row(name: str, ours: float, bare_value: float, aim: str) -> None:
    ratio = f"{ours / bare_value:.2f}" if bare_value else "none"
    print(f"{name:<23} {ours:8.1f} ms   ({aim}bare {bare_value:.1f} ms, ratio {ratio})")


def _95(times: list[float]) -> float:
    return quantiles(times, n=20)[-1]


def _inp(found: dict[str, Any]) -> float:
    """Return the worst but n / 50; 0 where so few took 16 ms or more that it is not known."""
    durations = sorted(found["durations"], reverse=True)
    at = int(found["count"]) // 50
    return float(durations[at]) if at < len(durations) else 0.0


def _ours(address: str, sheets: int) -> tuple[dict[str, Any], str]:
    """Return what was measured on the real screens, and an event as the product stored it."""
    from playwright.sync_api import sync_playwright

    from tests.bench.browser import chromium, slow_down
    from tests.browser.site.scoring import Scorer, World, phone_of
    from tests.browser.site.test_screens import score_whole_dutchman

    world = World(trainees=sheets + 1)
    with sync_playwright() as playwright:
        browser = chromium(playwright)
        context = phone_of(browser)
        context.add_init_script(WATCH)
        scorer = Scorer(context, address)
        scorer.page.set_default_timeout(60_000)
        scorer.sign_in(world.instructor)
        scorer.take()
        slow_down(scorer.page, SLOWER)
        context.set_offline(True)
        scorer.page.reload()
        for trainee in range(sheets):
            scorer.open(f"attempt/{world.attempt(trainee).pk}")
            scorer.tap("Start:", exact=False)
            score_whole_dutchman(scorer)
        found: dict[str, Any] = scorer.page.evaluate(READ)
        model = scorer.events()[-1]
        scorer.open(f"attempt/{world.attempt(sheets).pk}")
        scorer.tap("Start:", exact=False)
        scorer.tap("Yes")
        found["paints"] = _paints(scorer.page)
        context.close()
        browser.close()
    return found, json.dumps(model)


def _bare(address: str, model: str, taps: int) -> dict[str, Any]:
    """Return the same of the bare page."""
    from playwright.sync_api import sync_playwright

    from tests.bench.browser import chromium, slow_down
    from tests.browser.site.scoring import phone_of

    with sync_playwright() as playwright:
        browser = chromium(playwright)
        context = phone_of(browser)
        context.add_init_script(WATCH)
        page = context.new_page()
        page.goto(address)
        page.evaluate("async () => { await navigator.serviceWorker.ready; }")
        page.evaluate("(model) => { window.model = JSON.parse(model); }", model)
        slow_down(page, SLOWER)
        context.set_offline(True)
        for number in range(taps):
            page.click("button")
            page.get_by_text(f"Saved {number + 1}", exact=True).wait_for()
        found: dict[str, Any] = page.evaluate(READ)
        found["paints"] = _paints(page)
        context.close()
        browser.close()
    return found


def _paints(page: Any) -> list[float]:
    paints = []
    for _ in range(RELOADS):
        page.reload()
        page.locator("h1").wait_for()
        paints.append(page.evaluate(PAINT))
    return paints


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else SHEETS)
