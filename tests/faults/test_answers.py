"""What comes back is not the server's whole answer: nothing is lost by it, nothing doubled."""

from datetime import timedelta

import pytest

from assessments.models import Observation, Pack, SetAside
from tests.faults.device import SiteDevice, lost_and_doubled, until
from tests.faults.marks import slow
from tests.faults.net import Net

pytestmark = [pytest.mark.browser, pytest.mark.faults, pytest.mark.django_db(transaction=True)]


def all_there(saved: list[str]) -> None:
    """Every event is an observation, once, and none is set aside."""
    assert lost_and_doubled(saved) == (0, 0)
    assert Observation.objects.count() == len(saved)
    assert SetAside.objects.count() == 0


@pytest.mark.parametrize(
    "fault",
    [
        pytest.param("in part", id="acknowledged-in-part"),
        pytest.param("half", id="half-of-the-json", marks=slow),
        pytest.param("other ids", id="other-ids", marks=slow),
        pytest.param("portal", id="redirect-to-a-portal", marks=slow),
        pytest.param("lose", id="request-lost", marks=slow),
    ],
)
def test_only_what_the_server_names_is_acknowledged(
    device: SiteDevice, net: Net, fault: str
) -> None:
    """Half of a JSON answer, ids of others, a portal's page: what is not named is sent again."""
    saved = device.open().save(10)
    net.faults = [fault, "hold"]
    device.start_sending()
    until(net.held.is_set, "It did not try again.", device.send_now)
    named = 3 if fault == "in part" else 0
    assert net.sizes == [10, 10 - named]
    assert device.unsent() == 10 - named
    assert [event["sent"] for event in device.stored()] == [1] * named + [0] * (10 - named)
    net.let_go.set()
    device.drain()
    all_there(saved)


@slow
def test_401_in_the_middle_keeps_the_rest(device: SiteDevice, net: Net) -> None:
    saved = device.open().save(250)  # two batches
    net.faults = ["well", "401"]
    device.start_sending()
    until(lambda: device.state().get("state") == "refused", "It did not say that it is refused.")
    assert device.state()["sentence"].startswith("Take up the run again.")
    assert device.unsent() == 50
    device.drain()
    all_there(saved)


@slow
def test_leave_to_send_runs_out_while_sending(device: SiteDevice, net: Net) -> None:
    """The server's own 401; after renewing, the same events are taken."""
    saved = device.open().save(250)
    net.faults = ["hold"]
    device.start_sending()
    until(net.held.is_set, "Nothing was sent.")
    pack = Pack.objects.get()
    taken, expires = pack.taken_at, pack.expires_at
    long_ago = timedelta(days=400)
    Pack.objects.update(taken_at=taken - long_ago, expires_at=expires - long_ago)
    net.let_go.set()
    # The first batch was committed, its answer lost: it is refused with the rest.
    until(lambda: device.state().get("state") == "refused", "It was not refused.", device.send_now)
    assert device.unsent() == 250
    Pack.objects.update(taken_at=taken, expires_at=expires)
    device.drain()
    all_there(saved)


@slow
def test_too_large_is_sent_in_halves(device: SiteDevice, net: Net) -> None:
    saved = device.open().save(40)
    net.faults = ["413", "413", "well"]
    device.send_all()
    assert net.sizes[:3] == [40, 20, 10]
    all_there(saved)


@slow
def test_too_often_waits_as_long_as_asked(device: SiteDevice, net: Net) -> None:
    saved = device.open().save(10)
    net.faults = ["429"]
    device.start_sending()
    until(lambda: device.state().get("state") == "waiting", "It does not wait.")
    for _ in range(5):
        device.send_now()
    assert net.seen == 1
    assert device.unsent() == 10
    device.drain()
    assert net.sizes == [10, 10]
    all_there(saved)


@slow
def test_one_bad_event_holds_up_no_other(device: SiteDevice) -> None:
    """A poison event is kept aside whole, with a reason that the device keeps too."""
    first = device.open().save(3)
    poison = device.page.evaluate(
        """async ({ pack, attempt }) => {
          const { db, observation } = window.site;
          const subject = { kind: "criterion", key: "nowhere" };
          const value = { count: [[[-1]]] };
          return (await db.append(observation({ pack, attempt, subject, value }))).id;
        }""",
        {"pack": device.pack, "attempt": device.attempt},
    )
    saved = [*first, poison, *device.save(3)]
    device.send_all()
    assert lost_and_doubled(saved) == (0, 0)
    assert Observation.objects.count() == 6
    aside = SetAside.objects.get()
    assert aside.event_id == poison
    assert aside.body["value"] == {"count": [[[-1]]]}
    kept = [event for event in device.stored() if event["aside"]]
    assert [event["id"] for event in kept] == [poison]
    assert kept[0]["aside"] == {"reason": aside.reason, "sentence": aside.sentence}
