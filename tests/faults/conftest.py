"""The server, the net, a browser and a device for the fault tests."""

from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.assessments.builders import Yard, make_yard
from tests.factories import enrol, make_person
from tests.faults.chromium import OwnChromium, own_chromium
from tests.faults.device import SiteDevice, device_of, taken_up
from tests.faults.net import Net, net_before
from tests.live import served


@pytest.fixture
def yard(transactional_db: None, data_in_a_folder_of_its_own: None) -> Yard:
    """A run that is open, with an instructor and one trainee."""
    return make_yard()


@pytest.fixture
def chromium_to_kill(tmp_path: Path) -> Iterator[OwnChromium]:
    """A Chromium on a profile of its own, not started."""
    with own_chromium(tmp_path / "profile") as chromium:
        yield chromium


@pytest.fixture
def net(transactional_db: None, data_in_a_folder_of_its_own: None) -> Iterator[Net]:
    """The product behind a net that can be made to fail."""
    with served() as address, net_before(address, "/site/events/") as net:
        yield net


@pytest.fixture
def device(yard: Yard, net: Net, chromium_to_kill: OwnChromium) -> SiteDevice:
    """A device that took the run up, on a page where the store is not open."""
    enrol(yard.run, make_person("Second Trainee"))
    page = chromium_to_kill.page()
    device_id = device_of(page, net.url)
    return SiteDevice(page, net.url, *taken_up(yard, yard.instructor, device_id))
