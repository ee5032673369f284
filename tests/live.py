"""The product served in a thread, with the settings of the test."""

from collections.abc import Iterator
from contextlib import contextmanager

from django.core.servers.basehttp import ThreadedWSGIServer
from django.test.testcases import LiveServerThread
from pytest_django.live_server_helper import LiveServer


class _Prompt(ThreadedWSGIServer):
    def serve_forever(self, poll_interval: float = 0.02) -> None:
        """Look often whether to stop: the end of each test waits for it."""
        super().serve_forever(poll_interval)


@contextmanager
def served() -> Iterator[str]:
    """Run the block with the product at the address that is given."""
    plain, LiveServerThread.server_class = LiveServerThread.server_class, _Prompt
    try:
        server = LiveServer("127.0.0.1")
    finally:
        LiveServerThread.server_class = plain
    yield server.url
    server.stop()
