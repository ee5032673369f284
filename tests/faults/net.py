"""The net between the device and the server: a proxy that the test makes fail."""

import gzip
import json
import re
import socket
import threading
import uuid
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from http.client import HTTPConnection
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from typing import Any
from urllib.parse import urlsplit

LOGIN_PAGE = b"<!doctype html><title>Guest network</title><p>Accept the terms to go on.</p>"
PORTAL = "/portal/"
HOP = {"connection", "transfer-encoding", "keep-alive", "content-length"}

_HTML = ("Content-Type", "text/html")
_JSON = ("Content-Type", "application/json")
Said = tuple[int, list[tuple[str, str]], bytes]

# Answers that come instead of the server's, which never sees the request.
INSTEAD: dict[str, Said] = {
    "500": (500, [_HTML], b"<h1>Server Error</h1>"),
    "login page": (200, [_HTML], LOGIN_PAGE),
    "portal": (302, [("Location", PORTAL)], b""),
    "401": (401, [_JSON], b'{"sentence": "Take up the run again."}'),
    "413": (413, [_HTML], b"<h1>Request Entity Too Large</h1>"),
    "429": (429, [_JSON, ("Retry-After", "2")], b'{"sentence": "Too often."}'),
}


def _results(change: Callable[[list[dict[str, str]]], None]) -> Callable[[bytes], bytes]:
    def changed(content: bytes) -> bytes:
        answer = json.loads(content)
        change(answer["results"])
        return json.dumps(answer).encode()

    return changed


def _renamed(results: list[dict[str, str]]) -> None:
    for result in results:
        result["id"] = str(uuid.uuid4())


def _but_three(results: list[dict[str, str]]) -> None:
    del results[3:]


# What becomes of the server's answer on its way.
CHANGED: dict[str, Callable[[bytes], bytes]] = {
    "half": lambda content: content[: len(content) // 2],
    "other ids": _results(_renamed),
    "in part": _results(_but_three),
}


class Net(ThreadingHTTPServer):
    """Hands every request on to ``server``; the next ones to ``path`` as ``faults`` say.

    Faults, used up one a request: those of INSTEAD; ``lose`` (the request comes nowhere); those
    of CHANGED, ``drop answer`` and ``hold`` (the server has answered; the answer is changed, is
    lost, or waits for ``let_go``); ``well`` (no fault). ``seen`` counts the requests to ``path``
    that came in, ``sizes`` has how many events each of them held. What a page asks for
    below ``/told/`` is noted in ``told`` and goes no further. While ``down``, every connection
    is closed without an answer. ``shell_version`` replaces the version of the service worker.
    """

    daemon_threads = True
    block_on_close = False

    def __init__(self, server: str, path: str) -> None:
        super().__init__(("127.0.0.1", 0), _Handler)
        self.server_host = urlsplit(server).netloc
        self.path = path
        self.faults: list[str] = []
        self.seen = 0
        self.sizes: list[int] = []
        self.told: list[str] = []
        self.down = False
        self.shell_version: str | None = None
        self.held = threading.Event()
        self.let_go = threading.Event()

    @property
    def url(self) -> str:
        return f"http://127.0.0.1:{self.server_address[1]}"

    def handle_error(self, request: Any, client_address: Any) -> None:
        """Say nothing: a browser that is killed hangs up in the middle."""


class _Handler(BaseHTTPRequestHandler):
    server: Net
    protocol_version = "HTTP/1.1"

    def _handle(self) -> None:
        body = self.rfile.read(int(self.headers.get("Content-Length", 0)))
        fault = None
        if self.server.down:
            self._hang_up()
            return
        if self.path.startswith("/told/"):
            self.server.told.append(self.path.removeprefix("/told/"))
            self._answer(204, [], b"")
            return
        if self.path.startswith(self.server.path):
            self.server.seen += 1
            self.server.sizes.append(len(json.loads(body).get("events", [])))
            fault = self.server.faults.pop(0) if self.server.faults else None
        if self.path == PORTAL:
            self._answer(200, [_HTML], LOGIN_PAGE)
        elif fault == "lose":
            self._hang_up()
        elif fault in INSTEAD:
            self._answer(*INSTEAD[fault])
        else:
            self._pass_on(body, fault)

    do_GET = do_POST = do_PUT = do_HEAD = _handle  # noqa: N815 - the library's names

    def _pass_on(self, body: bytes, fault: str | None) -> None:
        connection = HTTPConnection(self.server.server_host, timeout=60)
        headers = {k: v for k, v in self.headers.items() if k.lower() != "connection"}
        connection.request(self.command, self.path, body, headers)
        answer = connection.getresponse()
        content = answer.read()
        connection.close()
        if fault == "hold":
            self.server.held.set()
            self.server.let_go.wait(60)
        if fault in ("drop answer", "hold"):
            self._hang_up()
            return
        if fault in CHANGED:
            content = CHANGED[fault](content)
        left_out = set(HOP)
        if self.path == "/sw.js" and self.server.shell_version:
            if answer.getheader("Content-Encoding") == "gzip":
                content = gzip.decompress(content)
                left_out.add("content-encoding")
            version = f'VERSION = "{self.server.shell_version}"'.encode()
            content = re.sub(rb'VERSION = "\w+"', version, content, count=1)
        kept = [(k, v) for k, v in answer.getheaders() if k.lower() not in left_out]
        self._answer(answer.status, kept, content)

    def _hang_up(self) -> None:
        self.close_connection = True
        with suppress(OSError):
            self.connection.shutdown(socket.SHUT_RDWR)

    def _answer(self, status: int, headers: list[tuple[str, str]], body: bytes) -> None:
        self.send_response_only(status)
        for name, value in headers:
            self.send_header(name, value)
        self.send_header("Content-Length", str(len(body)))
        self.end_headers()
        if self.command != "HEAD":
            self.wfile.write(body)

    def log_message(self, format: str, *args: Any) -> None:
        """Say nothing; the tests look at what was stored."""


@contextmanager
def net_before(server: str, path: str) -> Iterator[Net]:
    """Run the proxy before ``server`` in a thread."""
    net = Net(server, path)
    thread = threading.Thread(target=net.serve_forever, daemon=True)
    thread.start()
    try:
        yield net
    finally:
        net.let_go.set()
        net.shutdown()
        net.server_close()
        thread.join()
