"""What is stored already around a batch of events: read once for the whole batch."""

import uuid
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

from assessments.actions.acceptance import Ground
from assessments.actions.events import Event
from assessments.actions.site.photo_event import PhotoEvent
from assessments.engine.standard import Standard, load_standard
from assessments.models import Attempt, Observation, Pack, Photo, SealedStandard, SetAside
from assessments.queries.scope import may_assess

Subject = tuple[uuid.UUID, str, str]


@dataclass(frozen=True, slots=True)
class KnownAttempt:
    """An attempt that events name; ``own`` says that it is the assessor's own work."""

    run: uuid.UUID
    own: bool
    open: bool
    standard: uuid.UUID
    standard_digest: str


@dataclass(frozen=True)
class Known:
    """What is stored now; ``add`` keeps it true while a batch is taken in.

    ``stored``: content digests of observations and photographs by id. ``current``: the
    assessor's current observation of a subject. ``taken``: (epoch, seq). ``aside``: (reason,
    sentence) of what was kept aside, by event id and digest.
    """

    may_assess: bool
    attempts: dict[uuid.UUID, KnownAttempt]
    standards: dict[uuid.UUID, Standard]
    stored: dict[uuid.UUID, str]
    current: dict[Subject, uuid.UUID]
    taken: set[tuple[uuid.UUID, int]]
    aside: dict[str, dict[str, tuple[str, str]]]

    def ground(self, read: Event) -> Ground:
        """Return what ``read`` is held against; its attempt must be known and of the run."""
        attempt = self.attempts[read.attempt]
        return Ground(
            open=attempt.open,
            standard_digest=attempt.standard_digest,
            standard=self.standards[attempt.standard],
            current=self.current.get((read.attempt, read.subject_kind, read.subject_key)),
        )

    def add(self, read: Event | PhotoEvent, content: str) -> None:
        """Count an event among what is stored."""
        self.stored[read.id] = content
        self.taken.add((read.epoch, read.seq))
        if isinstance(read, Event):
            self.current[read.attempt, read.subject_kind, read.subject_key] = read.id


def known_around(
    pack: Pack, reads: Sequence[Event | PhotoEvent], event_ids: Iterable[str]
) -> Known:
    """Return what is stored around the events of a batch (at most nine queries, whatever its size).

    ``event_ids`` are those under which an event may have been kept aside.
    """
    attempts = _attempts(pack, {read.attempt for read in reads})
    of_run = {key for key, attempt in attempts.items() if attempt.run == pack.run_id}
    return Known(
        may_assess=may_assess(pack.assessor, pack.run),
        attempts=attempts,
        standards=_standards({attempts[key].standard for key in of_run}),
        stored=_stored(reads),
        current=_current(pack, of_run),
        taken=_taken(reads),
        aside=_aside(event_ids),
    )


def _stored(reads: Sequence[Event | PhotoEvent]) -> dict[uuid.UUID, str]:
    scored = [read.id for read in reads if isinstance(read, Event)]
    photos = [read.id for read in reads if isinstance(read, PhotoEvent)]
    found = dict(
        Observation.objects.filter(pk__in=scored).order_by().values_list("pk", "content_digest")
    )
    rows = Photo.objects.filter(pk__in=photos).order_by().values_list("pk", "content_digest")
    return {**found, **dict(rows)}


def _taken(reads: Sequence[Event | PhotoEvent]) -> set[tuple[uuid.UUID, int]]:
    """Return the (epoch, seq) that are stored in the range of the batch's numbers."""
    if not reads:
        return set()
    seqs = [read.seq for read in reads]
    where = {"epoch__in": {read.epoch for read in reads}, "seq__range": (min(seqs), max(seqs))}
    scored = Observation.objects.filter(**where).order_by().values_list("epoch", "seq")
    photos = Photo.objects.filter(**where).order_by().values_list("epoch", "seq")
    return {*scored, *photos}


def _attempts(pack: Pack, keys: set[uuid.UUID]) -> dict[uuid.UUID, KnownAttempt]:
    rows = (
        Attempt.objects.filter(pk__in=keys)
        .order_by()
        .values_list(
            "pk",
            "enrolment__run_id",
            "enrolment__person_id",
            "state",
            "standard_id",
            "standard__digest",
        )
    )
    return {
        key: KnownAttempt(
            run=run,
            own=person == pack.assessor_id,
            open=state == Attempt.State.OPEN,
            standard=standard,
            standard_digest=digest,
        )
        for key, run, person, state, standard, digest in rows
    }


def _standards(keys: set[uuid.UUID]) -> dict[uuid.UUID, Standard]:
    rows = SealedStandard.objects.filter(pk__in=keys).order_by().values_list("pk", "document")
    return {key: load_standard(document) for key, document in rows}


def _current(pack: Pack, attempts: set[uuid.UUID]) -> dict[Subject, uuid.UUID]:
    rows: Any = (
        Observation.objects.filter(
            attempt__in=attempts, assessor=pack.assessor_id, replaced_by__isnull=True
        )
        .order_by()
        .values_list("attempt_id", "subject_kind", "subject_key", "pk")
    )
    return {(attempt, kind, key): pk for attempt, kind, key, pk in rows}


def _aside(event_ids: Iterable[str]) -> dict[str, dict[str, tuple[str, str]]]:
    rows = (
        SetAside.objects.filter(event_id__in=set(event_ids))
        .order_by()
        .values_list("event_id", "content_digest", "reason", "sentence")
    )
    found: dict[str, dict[str, tuple[str, str]]] = {}
    for event, digest, reason, sentence in rows:
        found.setdefault(event, {})[digest] = (reason, sentence)
    return found
