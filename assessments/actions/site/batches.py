"""Receiving what was scored on site: a batch of events, each judged alone and none refused.

Every event gets an answer: ``stored``, ``already`` (the same one is stored), or ``aside`` with
a reason, which means that it is kept whole for people to answer. So a device may forget what
it was answered about, and one bad event never holds up the others.
"""

import uuid
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any

from django.core.exceptions import PermissionDenied
from django.db import DataError, IntegrityError, transaction
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop as N_
from django.utils.translation import override

from assessments.actions import acceptance as reasons
from assessments.actions.acceptance import (
    NotTaken,
    OtherContent,
    SeqTaken,
    check_observation,
    not_taken,
)
from assessments.actions.events import SCHEMA_VERSION, Event, read_event
from assessments.actions.observations import observation_of
from assessments.actions.site.aside import digest_of, readable_id, set_aside_row
from assessments.actions.site.packs import hold_open
from assessments.actions.site.photo_event import KIND as PHOTO
from assessments.actions.site.photo_event import PhotoEvent, read_photo_event
from assessments.actions.site.photos import record_photo
from assessments.engine.canonical import digest
from assessments.engine.errors import EngineError
from assessments.models import Observation, Pack, SetAside
from assessments.queries.site.known import Known, known_around
from training.actions.log import write_log
from training.errors import Refused
from training.said import said

STORED = "stored"
ALREADY = "already"
ASIDE = "aside"
CLASH = N_("This id is stored with other content. That one stands; what came now is kept aside.")

OTHER_DEVICE = N_(
    "This names another device than the one on which the run was taken up. Ask who scored it on "
    "which device, then take it in or leave it out."
)


@dataclass(frozen=True, slots=True)
class Result:
    """What became of the event at ``place`` (from 0) of a batch; ``id`` is None if it has none.

    ``result`` is stored, already or aside; only with aside are there a reason and a sentence.
    """

    id: str | None
    place: int
    result: str
    reason: str | None = None
    sentence: str | None = None

    def document(self) -> dict[str, Any]:
        """The answer as JSON; an event without an id is named by its place."""
        named: dict[str, Any] = {"id": self.id}
        if self.id is None:
            named["place"] = self.place
        sentence = said(self.sentence) if self.sentence else self.sentence
        return {**named, "result": self.result, "reason": self.reason, "sentence": sentence}


@dataclass(frozen=True)
class Sent:
    """An event as it came; ``read`` and ``content`` (its digest) where it can be read.

    ``fault`` says why it cannot.
    """

    pack: Pack
    place: int
    event: Any
    id: str | None
    read: Event | PhotoEvent | None = None
    content: str = ""
    fault: NotTaken | None = None

    @cached_property
    def digest(self) -> str:
        """The digest under which the event is kept aside."""
        return digest_of(self.event, self.pack)

    @property
    def kept_as(self) -> str:
        """The event id under which it is kept aside."""
        return self.id or self.digest


@transaction.atomic
def receive_sent(pack: Pack, events: Sequence[Any]) -> list[Result]:
    """Take in what the device itself sends; see ``receive``.

    Raises TokenRefused, and takes nothing in, where the pack was closed meanwhile; while events
    are taken in nobody closes it.
    """
    _queue(pack)
    hold_open(pack)
    return receive(pack, events)


@transaction.atomic
@override("en")  # why an event is set aside is kept in one language
def receive(pack: Pack, events: Sequence[Any]) -> list[Result]:
    """Take in ``events`` as the assessor of ``pack`` and return a result for each, in order.

    Batches of one assessor on one run queue, so the same batch twice at once is stored once.
    The observations go in together; only where the database says no, because of something that
    happened at the same moment, are they taken one by one, each in a savepoint. What is new
    makes one row of the log for the whole batch, which names every event by its digest (and one
    more for each photograph). An event kept aside before is answered as it was then.
    """
    _queue(pack)
    sent = [_read(pack, place, event) for place, event in enumerate(events)]
    photos = [each for each in sent if isinstance(each.read, PhotoEvent)]
    scored = [each for each in sent if not isinstance(each.read, PhotoEvent)]
    known = _known(pack, sent)
    try:
        results = _together(known, scored)
    except (IntegrityError, DataError):
        known = _known(pack, sent)
        results = _take(known, scored, _insert)
    results |= _take(known, photos, _photo)
    _keep(known, sent, results)
    return [results[each.place] for each in sent]


def _queue(pack: Pack) -> None:
    """Wait until no other batch of the same assessor on the same run is taken in."""
    queue = Pack.objects.filter(run=pack.run_id, assessor=pack.assessor_id).order_by("pk")
    list(queue.select_for_update(no_key=True).values_list("pk"))


def _read(pack: Pack, place: int, event: Any) -> Sent:
    named = readable_id(event)
    try:
        if named is None:
            raise _no(_("The event has no id that it can be answered by."))
        _check_kind(event)
        read = read_photo_event(event) if "kind" in event else read_event(event)
        content = digest({**event, "assessor": str(pack.assessor_id)})
    except NotTaken as fault:
        return Sent(pack, place, event, named, fault=fault)
    except (Refused, EngineError) as error:
        return Sent(pack, place, event, named, fault=_no(str(error)))
    return Sent(pack, place, event, named, read, content)


def _check_kind(event: Mapping[str, Any]) -> None:
    version = event.get("schema_version")
    if isinstance(version, int) and version > SCHEMA_VERSION:
        raise _no(
            _(
                "The event has schema version {version}; this server reads {number}. It is "
                "read again once the server is brought up to date."
            ).format(version=version, number=SCHEMA_VERSION),
            reasons.SCHEMA_TOO_NEW,
        )
    if "kind" in event and event["kind"] != PHOTO:
        raise _no(_("This server knows no event of this kind."), reasons.UNKNOWN_KIND)


def _known(pack: Pack, sent: Sequence[Sent]) -> Known:
    reads = [each.read for each in sent if each.read is not None]
    return known_around(pack, reads, [each.kept_as for each in sent])


def _together(known: Known, scored: Sequence[Sent]) -> dict[int, Result]:
    """Judge every observation and store those that stand in one go."""
    rows: list[Observation] = []
    results = _take(known, scored, lambda each: rows.append(_row(each)))
    with transaction.atomic():
        Observation.objects.bulk_create(rows)
    return results


def _take(known: Known, sent: Sequence[Sent], store: Callable[[Sent], object]) -> dict[int, Result]:
    """Return the result of each event by its place; ``store`` is called with those that stand."""
    results = {}
    for each in sent:
        try:
            read = _standing(known, each)
            if read is not None:
                store(each)
                known.add(read, each.content)
            results[each.place] = Result(each.id, each.place, STORED if read else ALREADY)
        except NotTaken as no:
            results[each.place] = Result(each.id, each.place, ASIDE, no.reason, no.message)
    return results


def _standing(known: Known, each: Sent) -> Event | PhotoEvent | None:
    """Return the event as read where it is to be stored, None where it is; else NotTaken."""
    read = each.read
    if read is not None and known.stored.get(read.id) == each.content:
        return None
    if each.kept_as in known.aside and each.digest in known.aside[each.kept_as]:
        reason, sentence = known.aside[each.kept_as][each.digest]
        raise _no(sentence, reason)
    if read is None:
        raise each.fault or _no(_("The event cannot be read."))
    if read.id in known.stored:
        raise OtherContent(CLASH, each.event)
    if read.device != each.pack.device:
        raise _no(OTHER_DEVICE, reasons.OTHER_DEVICE)
    _check_attempt(known, each.pack, read.attempt)
    if isinstance(read, Event):
        check_observation(read, known.ground(read))
    if (read.epoch, read.seq) in known.taken:
        raise SeqTaken
    return read


def _check_attempt(known: Known, pack: Pack, key: uuid.UUID) -> None:
    attempt = known.attempts.get(key)
    if attempt is None:
        raise _no(_("The server has no such attempt."), reasons.UNKNOWN_ATTEMPT)
    if attempt.run != pack.run_id:
        raise _no(_("This attempt is not one of the run that was taken up."), reasons.NOT_OF_RUN)
    if attempt.own:
        raise _no(_("Nobody assesses the own work."), reasons.NO_AUTHORITY)
    if not known.may_assess:
        raise _no(
            _(
                "Who scored this no longer leads or teaches the run. It is kept, and a training "
                "lead answers what becomes of it."
            ),
            reasons.NO_AUTHORITY,
        )


def _row(each: Sent) -> Observation:
    assert isinstance(each.read, Event)
    return observation_of(each.read, assessor=each.pack.assessor, content=each.content)


def _insert(each: Sent) -> None:
    """Store one observation; raise NotTaken for what happened at the same moment."""
    row = _row(each)
    try:
        with transaction.atomic():
            row.save(force_insert=True)
    except (IntegrityError, DataError) as error:
        refusal = not_taken(error) if isinstance(error, IntegrityError) else None
        if refusal is None and Observation.objects.filter(pk=row.pk).exists():
            refusal = OtherContent(CLASH, each.event)
        raise refusal or _no(_("The database cannot hold this event as it is.")) from error


def _photo(each: Sent) -> None:
    try:
        with transaction.atomic():
            record_photo(each.pack, each.event)
    except NotTaken:
        raise
    except PermissionDenied as error:
        raise _no(str(error), reasons.NO_AUTHORITY) from error
    except Refused as error:
        raise _no(error.message) from error
    except (IntegrityError, DataError) as error:
        raise _no(_("The database cannot hold this event as it is.")) from error


def _keep(known: Known, sent: Sequence[Sent], results: Mapping[int, Result]) -> None:
    """Keep what was set aside, and write the batch to the log where anything is new."""
    stored, rows = [], []
    for each in sent:
        result = results[each.place]
        if result.result == STORED and isinstance(each.read, Event):
            stored.append([str(each.read.id), each.content])
        if result.result == ASIDE and each.digest not in known.aside.get(each.kept_as, {}):
            known.aside.setdefault(each.kept_as, {})[each.digest] = ("", "")  # once a batch
            why = (result.reason or "", result.sentence or "")
            rows.append(set_aside_row(each.pack, each.event, each.id, each.digest, why))
    if not stored and not rows:
        return
    SetAside.objects.bulk_create(rows, ignore_conflicts=True)
    pack = sent[0].pack
    aside = [[row.event_id, row.content_digest, row.reason] for row in rows]
    data = {"stored": stored, "aside": aside}
    write_log(actor=pack.assessor, verb="pack.received", subject=pack, data=data)


def _no(sentence: str, reason: str = reasons.UNREADABLE) -> NotTaken:
    return NotTaken(sentence, reason=reason)
