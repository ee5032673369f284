"""What the devices of a run took up, sent, lost and still keep."""

import uuid
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from django.db.models import Count, Max, QuerySet
from django.utils import timezone

from assessments.models import (
    DeviceLoss,
    Observation,
    Pack,
    Photo,
    PhotoBytes,
    SealedStandard,
    SetAside,
)
from assessments.queries.site.aside import Content, about_attempts, content_of, taken_in
from assessments.queries.site.gaps import Epoch, gaps
from assessments.subjects import find_subject, subjects_of
from training.models import CourseRun, Person
from training.queries.scope import runs_visible_to


@dataclass(frozen=True)
class Received:
    """What came of one epoch of a device: observations, photographs, and when the last came."""

    epoch: uuid.UUID
    observations: int
    photos: int
    last: datetime


@dataclass(frozen=True)
class DeviceRow:
    """One assessor on one device: what was taken up last, and what came of each epoch."""

    assessor: Person
    device: uuid.UUID
    pack: Pack
    received: Sequence[Received]

    @property
    def state(self) -> str:
        """open, expired or closed."""
        if self.pack.closed_at:
            return "closed"
        return "open" if self.pack.expires_at > timezone.now() else "expired"

    @property
    def last(self) -> datetime | None:
        """When something came last."""
        return max((each.last for each in self.received), default=None)


@dataclass(frozen=True)
class AsideRow:
    """Something set aside, what it says, and whether it was taken in."""

    row: SetAside
    content: Content
    taken: bool


@dataclass(frozen=True)
class MissingPhoto:
    """A photograph whose bytes have not come, and the title of what it shows."""

    photo: Photo
    what: str


@dataclass(frozen=True)
class RunDevices:
    """Everything that the page of a run's devices tells; ``gaps`` only where some are missing."""

    rows: Sequence[DeviceRow]
    open: Sequence[AsideRow]
    answered: Sequence[AsideRow]
    losses: Sequence[DeviceLoss]
    gaps: Sequence[Epoch]
    missing: Sequence[MissingPhoto]


def run_devices(run: CourseRun) -> RunDevices:
    """Return what is known of the devices of ``run`` (fifteen queries at most)."""
    aside = list(
        SetAside.objects.filter(pack__run=run)
        .select_related("assessor", "answer__by")
        .order_by("-received_at", "-pk")
    )
    about = about_attempts(aside)
    taken = taken_in(aside)
    told = [AsideRow(row, content_of(row, about), row.pk in taken) for row in aside]
    return RunDevices(
        rows=_rows(run),
        open=[each for each in told if not hasattr(each.row, "answer")],
        answered=[each for each in told if hasattr(each.row, "answer")],
        gaps=[epoch for epoch in gaps(run) if epoch.missing],
        losses=list(
            DeviceLoss.objects.filter(pack__run=run).select_related("assessor", "answer__by")
        ),
        missing=_missing(run),
    )


def losses_visible_to(person: Person) -> QuerySet[DeviceLoss]:
    """Return the losses on the runs that ``person`` leads or teaches."""
    return DeviceLoss.objects.filter(pack__run__in=runs_visible_to(person).order_by())


def _missing(run: CourseRun) -> list[MissingPhoto]:
    photos = list(
        Photo.objects.filter(attempt__enrolment__run=run)
        .exclude(sha256__in=PhotoBytes.objects.values("sha256"))
        .select_related("assessor", "attempt__enrolment__person")
        .order_by("claimed_at", "pk")
    )
    standards = SealedStandard.objects.in_bulk({each.attempt.standard_id for each in photos})
    subjects = {key: subjects_of(each.document) for key, each in standards.items()}
    found = []
    for each in photos:
        among = subjects[each.attempt.standard_id]
        subject = find_subject(among, each.subject_kind, each.subject_key)
        found.append(MissingPhoto(each, subject.title if subject else each.subject_key))
    return found


def _rows(run: CourseRun) -> list[DeviceRow]:
    latest: dict[tuple[int, uuid.UUID], Pack] = {}
    for pack in run.packs.select_related("assessor").order_by("-taken_at", "pk"):
        latest.setdefault((pack.assessor_id, pack.device), pack)
    received = _received(run)
    rows = [
        DeviceRow(pack.assessor, device, pack, received[assessor, device])
        for (assessor, device), pack in latest.items()
    ]
    return sorted(rows, key=lambda row: (row.assessor.full_name, row.pack.taken_at))


def _received(run: CourseRun) -> dict[tuple[int, uuid.UUID], list[Received]]:
    counts: dict[tuple[int, uuid.UUID, uuid.UUID], list[int]] = defaultdict(lambda: [0, 0])
    last: dict[tuple[int, uuid.UUID, uuid.UUID], datetime] = {}
    for place, model in enumerate((Observation, Photo)):
        rows = (
            model._default_manager.filter(attempt__enrolment__run=run)
            .order_by()
            .values_list("assessor", "device", "epoch")
            .annotate(Count("pk"), Max("received_at"))
        )
        for assessor, device, epoch, number, latest in rows:
            key = assessor, device, epoch
            counts[key][place] = number
            last[key] = max(last.get(key, latest), latest)
    found: dict[tuple[int, uuid.UUID], list[Received]] = defaultdict(list)
    for (assessor, device, epoch), (observations, photos) in counts.items():
        row = Received(epoch, observations, photos, last[assessor, device, epoch])
        found[assessor, device].append(row)
    for each in found.values():
        each.sort(key=lambda row: row.last)
    return found
