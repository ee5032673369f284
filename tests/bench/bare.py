"""The bare side of the measurements in a browser: one page, a store and a sink, no product.

A touch of the page's key writes one object with strict durability; its worker keeps the page;
what is posted to it is read and thrown away.
"""

import threading
from collections.abc import Iterator
from contextlib import contextmanager
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from typing import Any

PAGE = b"""<!doctype html><meta name="viewport" content="width=device-width">
<title>Bare</title><h1>Bare</h1>
<button style="width:200px;height:120px">Key</button>
<script>
  navigator.serviceWorker.register("/sw.js");
  const opened = new Promise((resolve) => {
    const request = indexedDB.open("bare", 1);
    request.onupgradeneeded = () =>
      request.result.createObjectStore("events", { keyPath: "seq" });
    request.onsuccess = () => resolve(request.result);
  });
  let seq = 0;
  document.querySelector("button").onclick = async () => {
    const tx = (await opened).transaction(["events"], "readwrite", { durability: "strict" });
    seq += 1;
    tx.objectStore("events").put({ ...window.model, seq });
    tx.oncomplete = () => { document.querySelector("h1").textContent = `Saved ${seq}`; };
  };
</script>"""
WORKER = b"""
self.addEventListener("install", (event) =>
  event.waitUntil(caches.open("bare").then((cache) => cache.add("/"))));
self.addEventListener("activate", (event) => event.waitUntil(clients.claim()));
self.addEventListener("fetch", (event) => {
  if (event.request.method === "GET") event.respondWith(caches.match("/"));
});"""


class _Handler(BaseHTTPRequestHandler):
    protocol_version = "HTTP/1.1"

    def do_GET(self) -> None:
        script = self.path == "/sw.js"
        self._answer(WORKER if script else PAGE, "text/javascript" if script else "text/html")

    def do_POST(self) -> None:
        self.rfile.read(int(self.headers.get("Content-Length", 0)))
        self._answer(b"{}", "application/json")

    def _answer(self, body: bytes, kind: str) -> None:
        self.send_response(200)
        self.send_header("Content-Type", kind)
        self.send_header("Content-Length", str(len(body)))
        self.end_headers()
        self.wfile.write(body)

    def log_message(self, format: str, *args: Any) -> None:
        """Say nothing."""


@contextmanager
def bare() -> Iterator[str]:
    """Serve the bare page in a thread; give its address."""
    server = ThreadingHTTPServer(("127.0.0.1", 0), _Handler)
    thread = threading.Thread(target=server.serve_forever, daemon=True)
    thread.start()
    try:
        yield f"http://127.0.0.1:{server.server_address[1]}"
    finally:
        server.shutdown()
        server.server_close()
        thread.join()
