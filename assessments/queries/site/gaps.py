"""What a run's devices sent, and what is missing between: a device numbers all that it stores."""

import uuid
from collections.abc import Iterable
from dataclasses import dataclass

from assessments.models import Observation, Photo, SetAside
from training.models import CourseRun

Range = tuple[int, int]


@dataclass(frozen=True)
class Epoch:
    """The sequence numbers that came of one epoch of a device, as ranges (first, last).

    ``missing`` are those below the highest that did not come. ``device`` is None where only
    what was kept aside, without a pack, speaks of the epoch.
    """

    device: uuid.UUID | None
    epoch: uuid.UUID
    received: list[Range]
    missing: list[Range]

    @property
    def highest(self) -> int:
        """The highest sequence number that came."""
        return self.received[-1][1]


def gaps(run: CourseRun) -> list[Epoch]:
    """Return every epoch of which something came for the run, by device (six queries).

    Observations, photographs and what was kept aside count alike. A device numbers its events
    across runs, so what came of the epoch for another run counts as received too.
    """
    devices = _devices(run)
    numbers: dict[uuid.UUID, set[int]] = {epoch: set() for epoch in devices}
    for rows in (Observation.objects, Photo.objects, SetAside.objects):
        found = rows.filter(epoch__in=devices, seq__isnull=False).order_by()
        for epoch, seq in found.values_list("epoch", "seq"):
            if epoch is not None and seq is not None:
                numbers[epoch].add(seq)
    epochs = [
        Epoch(devices[epoch], epoch, received, _between(received))
        for epoch, seqs in numbers.items()
        if (received := ranges(seqs))
    ]
    return sorted(epochs, key=lambda each: (str(each.device), str(each.epoch)))


def ranges(numbers: Iterable[int]) -> list[Range]:
    """Return the numbers as ranges, both ends included, in order.

    >>> ranges([5, 1, 2, 3, 9])
    [(1, 3), (5, 5), (9, 9)]
    """
    found: list[Range] = []
    for number in sorted(numbers):
        if found and found[-1][1] == number - 1:
            found[-1] = (found[-1][0], number)
        else:
            found.append((number, number))
    return found


def _between(received: list[Range]) -> list[Range]:
    """Return what lies before and between ``received``, from 1."""
    ends = [0, *(last for _, last in received)]
    starts = [first for first, _ in received]
    return [
        (end + 1, start - 1) for end, start in zip(ends, starts, strict=False) if start > end + 1
    ]


def _devices(run: CourseRun) -> dict[uuid.UUID, uuid.UUID | None]:
    """Return the device of each epoch; where only kept events name it, that of their pack."""
    devices: dict[uuid.UUID, uuid.UUID | None] = {}
    kept = SetAside.objects.filter(pack__run=run, epoch__isnull=False, seq__isnull=False)
    for epoch, device in kept.order_by().values_list("epoch", "pack__device").distinct():
        if epoch is not None:
            devices[epoch] = device
    for rows in (Observation.objects, Photo.objects):
        found = rows.filter(attempt__enrolment__run=run).order_by()
        devices |= dict(found.values_list("epoch", "device").distinct())
    return devices
