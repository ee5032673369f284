"""Closing a pack while its device sends: one after the other, and never half of a batch."""

import threading
from collections.abc import Callable
from typing import Any

import pytest
from django.db import connection, transaction

from assessments.actions.site import batches
from assessments.actions.site.batches import receive, receive_sent
from assessments.actions.site.losses import record_loss
from assessments.actions.site.packs import TokenRefused, close_pack, pack_of, token_of
from assessments.actions.site.photos import receive_bytes
from assessments.models import DeviceLoss, Observation, Pack, PhotoBytes, SetAside
from tests.assessments.site.builders import Device, good, take_up, words
from tests.assessments.site.pictures import jpeg, sha256
from tests.assessments.site.test_api import send
from tests.assessments.site.test_losses import loss

pytestmark = pytest.mark.django_db(transaction=True)
# Unlike pg_stat_activity, this is read anew inside a transaction.
WAITING = "SELECT count(*) FROM pg_locks WHERE NOT granted"


class Aside(threading.Thread):
    """Work on a connection of its own; ``result`` is what it gave or raised."""

    def __init__(self, work: Callable[[], object]) -> None:
        super().__init__()
        self.work = work
        self.result: Any = None
        self.start()

    def run(self) -> None:
        try:
            self.result = self.work()
        except Exception as raised:
            self.result = raised
        finally:
            connection.close()

    def waits(self) -> None:
        """Return once the thread waits for a lock in the database."""
        while self.is_alive():
            with connection.cursor() as cursor:
                cursor.execute(WAITING)
                if cursor.fetchone()[0]:
                    return
            self.join(0.01)
        pytest.fail(f"it waited for nothing: {self.result!r}")


def loaded(device: Device) -> Pack:
    """Return the pack as a request holds it, its token just checked."""
    return pack_of(token_of(device.pack))


def test_closing_waits_for_the_batch(monkeypatch: pytest.MonkeyPatch) -> None:
    device = take_up()
    keep = batches._keep
    closing: list[Aside] = []

    def close_meanwhile(*args: Any) -> None:
        closing.append(Aside(lambda: close_pack(actor=device.yard.lead, pack=device.pack)))
        closing[0].waits()
        keep(*args)

    monkeypatch.setattr(batches, "_keep", close_meanwhile)
    results = receive_sent(loaded(device), good(device))
    assert words(results) == [("stored", None)] * 5
    closing[0].join()
    assert closing[0].result.closed_at is not None
    assert Observation.objects.filter(received_at__lt=closing[0].result.closed_at).count() == 5


@pytest.mark.parametrize("what", ["batch", "photograph", "loss"])
def test_what_comes_during_the_closing_is_refused_whole(what: str) -> None:
    device = take_up()
    pack, events, data = loaded(device), good(device), jpeg()
    work: dict[str, Callable[[], object]] = {
        "batch": lambda: receive_sent(pack, events),
        "photograph": lambda: receive_bytes(pack, sha256(data), data),
        "loss": lambda: record_loss(pack, loss()),
    }
    with transaction.atomic():
        close_pack(actor=device.yard.lead, pack=device.pack)
        sending = Aside(work[what])
        sending.waits()
    sending.join()
    assert isinstance(sending.result, TokenRefused)
    assert "was closed" in sending.result.message
    stored = (Observation, SetAside, PhotoBytes, DeviceLoss)
    assert not any(model._default_manager.exists() for model in stored)


def test_a_device_whose_pack_is_closed_meanwhile_is_told_in_words(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    device = take_up()

    def closed_first(pack: Pack, events: list[Any]) -> object:
        close_pack(actor=device.yard.lead, pack=pack)
        return receive_sent(pack, events)

    monkeypatch.setattr("assessments.views.site.api.receive_sent", closed_first)
    response = send(device, good(device))
    assert (response.status_code, list(response.json())) == (401, ["sentence"])
    assert not Observation.objects.exists()


def test_a_file_of_a_closed_pack_is_still_read_in() -> None:
    device = take_up()
    close_pack(actor=device.yard.lead, pack=device.pack)
    assert words(receive(device.pack, good(device))) == [("stored", None)] * 5
