"""How often a device may send: whichever process answers, and whatever it brings."""

from datetime import UTC, datetime, timedelta
from typing import Any

import pytest
from django.core.cache import cache
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from assessments.actions.site.pace import BATCHES, LOSSES, MOST, PHOTOGRAPHS, seconds_to_wait
from assessments.actions.site.packs import token_of
from assessments.models import DeviceLoss, Observation, PhotoBytes, SendingCount
from tests.assessments.builders import at_once
from tests.assessments.site.builders import Device, take_up
from tests.assessments.site.events import put
from tests.assessments.site.pictures import jpeg
from tests.assessments.site.test_api import send
from tests.assessments.site.test_losses import loss, tell

NOW = datetime(2026, 11, 3, 15, 30, 20, tzinfo=UTC)


@pytest.fixture
def clock(monkeypatch: pytest.MonkeyPatch) -> Any:
    def show(moment: datetime) -> None:
        monkeypatch.setattr(timezone, "now", lambda: moment)

    return show


def all_sent(device: Device, kind: str) -> None:
    """Count as if the device had sent as often as it may."""
    for _ in range(MOST[kind]):
        assert seconds_to_wait(device.pack, kind) == 0
        cache.clear()  # another process knows nothing of what this one keeps


def bring(device: Device, kind: str) -> Any:
    """Send something of ``kind`` that would be taken in."""
    if kind == BATCHES:
        return send(device, [device.event("C1", {"level": 2})])
    if kind == PHOTOGRAPHS:
        return put(device.pack, jpeg())
    return tell(device.pack, loss(device=str(device.pack.device)))


@pytest.mark.django_db
@pytest.mark.parametrize("kind", [BATCHES, PHOTOGRAPHS, LOSSES])
def test_who_sends_too_often_waits_for_the_next_minute(kind: str, clock: Any) -> None:
    device, other = take_up(), take_up()
    # A minute's window: 20 s into it, 40 s are left.
    now = max(NOW, timezone.now()).replace(second=20, microsecond=0)
    clock(now)
    all_sent(device, kind)
    late = bring(device, kind)
    assert (late.status_code, late.headers["Retry-After"]) == (429, "40")
    assert list(late.json()) == ["sentence"]
    assert "too often" in late.json()["sentence"]
    stored = (Observation, PhotoBytes, DeviceLoss)
    assert not any(model._default_manager.exists() for model in stored)
    assert bring(other, kind).status_code == 200
    clock(now + timedelta(seconds=40))
    assert bring(device, kind).status_code == 200
    assert SendingCount.objects.get(pack=device.pack).number == 1


@pytest.mark.django_db
def test_what_is_brought_is_counted_by_itself(clock: Any) -> None:
    device = take_up()
    clock(timezone.now())
    all_sent(device, LOSSES)
    assert bring(device, LOSSES).status_code == 429
    assert bring(device, BATCHES).status_code == 200
    assert bring(device, PHOTOGRAPHS).status_code == 200


@pytest.mark.django_db(transaction=True)
def test_two_processes_count_together(clock: Any) -> None:
    device = take_up()
    clock(timezone.now())
    half = MOST[BATCHES] // 2
    waits = at_once(lambda _: [seconds_to_wait(device.pack, BATCHES) for _ in range(half + 1)])
    assert sorted(wait > 0 for each in waits for wait in each) == [False] * (2 * half) + [True] * 2


@pytest.mark.django_db
def test_a_token_that_opens_nothing_is_counted_nowhere() -> None:
    device = take_up()
    for address, method in ((reverse("site_events"), "post"), (reverse("site_loss"), "post")):
        headers = {"Authorization": f"Pack {token_of(device.pack)}x"}
        call = getattr(Client(), method)
        response = call(address, "{}", content_type="application/json", headers=headers)
        assert response.status_code == 401
    assert not SendingCount.objects.exists()
