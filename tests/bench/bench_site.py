"""How fast the scoring pages are on a slow phone: saving, opening without a signal, and size.

Run ``python -m tests.bench.bench_site [EVENTS]``. Chromium runs with its processor slowed down 4
times, at 360 x 740. Saving is timed from the call of the store's ``append`` until its promise is
kept, that is until the transaction is complete; opening is the largest contentful paint of a
reload while the server cannot be reached; both with the modules as they are in static/. Sizes are
those of the files that the device keeps, as a server sends them after collecting: static files in
brotli, what views answer in gzip, fonts as they are.
The aims are printed beside the figures; nothing is asserted.
"""

import os
import sys
import tempfile
from pathlib import Path
from statistics import median, quantiles
from typing import Any

import django
from django.conf import settings
from django.core.management import call_command
from django.test import override_settings

EVENTS = 200
SLOWER = 4
_SAVE = """async (events) => {
  const { db, observation } = window.site;
  const pack = { id: "p", assessor: { id: "1" }, standard: { digest: "0".repeat(64) } };
  const subject = { kind: "criterion", key: "C4" };
  const times = [];
  for (let count = 0; count < events; count += 1) {
    const start = performance.now();
    await db.append(observation({ pack, attempt: "a", subject, value: { count } }));
    times.push(performance.now() - start);
  }
  return times;
}"""
_PAINT = """() => new Promise((resolve) => {
  new PerformanceObserver((list) => resolve(list.getEntries().at(-1).startTime))
    .observe({ type: "largest-contentful-paint", buffered: true });
})"""


def main(events: int) -> None:
    """Print the figures."""
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "config.settings")
    os.environ.setdefault("DJANGO_ALLOW_ASYNC_UNSAFE", "true")
    django.setup()
    plain = {"BACKEND": "django.contrib.staticfiles.storage.StaticFilesStorage"}
    with tempfile.TemporaryDirectory() as collected:
        scripts, shell = _sizes(Path(collected))
    with (
        override_settings(STORAGES={**settings.STORAGES, "staticfiles": plain}),
        tempfile.TemporaryDirectory(ignore_cleanup_errors=True) as folder,
    ):
        times, paints = _measure(events, Path(folder))
    print(f"scripts, on the way     {scripts / 1000:8.1f} kB   (aim 30 kB)")
    print(f"all that is kept        {shell / 1000:8.1f} kB   (aim 100 kB)")
    print(f"events saved            {events}, processor slowed down {SLOWER} times")
    print(f"saving, median          {median(times):8.1f} ms")
    print(f"saving, 95th percentile {quantiles(times, n=20)[-1]:8.1f} ms   (aim 50 ms)")
    print(f"opening, no signal      {median(paints):8.0f} ms   (aim 1000 ms; of {len(paints)})")


def _sizes(folder: Path) -> tuple[int, int]:
    """Return the bytes of the scripts and of all files, as they go over the net once collected."""
    from tests.collected import fetched_sizes, scripts_among

    with override_settings(STATIC_ROOT=folder, DEBUG=False):
        call_command("collectstatic", verbosity=0, interactive=False)
        sizes = fetched_sizes(folder)
    return sum(scripts_among(sizes).values()), sum(sizes.values())


def _measure(events: int, folder: Path) -> tuple[list[float], list[float]]:
    """Return the milliseconds of each save, and those of each opening without a signal."""
    from pytest_django.live_server_helper import LiveServer

    from tests.faults.chromium import own_chromium
    from tests.faults.device import SiteDevice
    from tests.faults.net import net_before

    server = LiveServer("127.0.0.1")
    with net_before(server.url, "/site/events/") as net, own_chromium(folder / "p") as chromium:
        page = chromium.page()
        devtools = page.context.new_cdp_session(page)
        device = SiteDevice(page, net.url, {"id": "p"}, "a").open_shell()
        devtools.send("Emulation.setCPUThrottlingRate", {"rate": SLOWER})
        net.down = True
        paints: list[float] = []
        for _ in range(5):
            page.reload()
            page.locator("#app h1").wait_for()
            paints.append(page.evaluate(_PAINT))
        device.load()
        times: list[Any] = page.evaluate(_SAVE, events)
    server.stop()
    return times, paints


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else EVENTS)
