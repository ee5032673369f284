"""Reading in what a device saved as a file because it could not send.

The file is a JSON object: ``schema`` (bankermark/events/1), ``device`` (UUID), ``events`` as a
device sends them, and ``assessor`` (the person's id as text; may be left out where only one
person took something up on the device). ``epochs`` and ``photos`` are for people.
"""

import json
import uuid
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from django.core.exceptions import PermissionDenied
from django.db import transaction
from django.utils.translation import gettext as _

from assessments.actions.events import uuid_at
from assessments.actions.site.batches import Result, receive
from assessments.models import Attempt, Pack
from training.actions.log import write_log
from training.errors import Refused
from training.models import Person
from training.queries.scope import is_lead

SCHEMA = "bankermark/events/1"
MAX_BYTES = 5 * 1024 * 1024
BATCH = 500
FIELDS = {"schema", "device", "assessor", "epochs", "events", "photos"}


@dataclass(frozen=True)
class Imported:
    """What became of a file: whose events, from which device, and a result for each in order."""

    assessor: Person
    device: uuid.UUID
    results: Sequence[Result]

    @property
    def counts(self) -> Counter[str]:
        """How many events came to stored, already and aside."""
        return Counter(each.result for each in self.results)


def read_events_file(data: bytes) -> dict[str, Any]:
    """Return the document in a file; raise Refused where it is none that a device saves."""
    if len(data) > MAX_BYTES:
        raise Refused(
            _("This file has {count} bytes: 5 MB at most are read.").format(count=f"{len(data):,}"),
            field="file",
        )
    try:
        document = json.loads(data)
    except (ValueError, RecursionError):
        raise Refused(
            _("This is not JSON. Choose the file that the scoring page saved."), field="file"
        ) from None
    if not isinstance(document, dict) or document.get("schema") != SCHEMA:
        raise Refused(
            _(
                "This file is not of the form {schema}. Choose the file that the scoring page "
                "saved."
            ).format(schema=SCHEMA),
            field="file",
        )
    return document


@transaction.atomic
def import_events(*, actor: Person, document: Mapping[str, Any]) -> Imported:
    """Take in the events of a file by the road of those that a device sends, each exactly once.

    A lead reads in anybody's file, an assessor the own; others raise PermissionDenied. Raises
    Refused for a document of another form, and for a device that took nothing up here.
    """
    device, events = _read(document)
    packs = _packs(device, document.get("assessor"))
    assessor = next(iter(packs.values())).assessor
    for pack in packs.values():
        if actor != assessor and not is_lead(actor, pack.run.program.provider):
            raise PermissionDenied(_("A training lead reads in what another person scored."))
    results = _receive(packs, events)
    counts = Counter(each.result for each in results)
    for pack in packs.values():
        write_log(actor=actor, verb="events.imported", subject=pack, data={**counts})
    return Imported(assessor, device, results)


def _read(document: Mapping[str, Any]) -> tuple[uuid.UUID, list[Any]]:
    for name in ("device", "events"):
        if name not in document:
            raise Refused(_("The file has no {name}.").format(name=name), field="file")
    for name in document:
        if name not in FIELDS:
            raise Refused(
                _("A file of the form {schema} has no field {name}.").format(
                    schema=SCHEMA, name=name
                ),
                field="file",
            )
    events = document["events"]
    if not isinstance(events, list) or not events:
        raise Refused(_("The file holds no events: there is nothing to read in."), field="file")
    try:
        return uuid_at(document, "device"), events
    except Refused:
        raise Refused(_("The file's device is not a UUID."), field="file") from None


def _packs(device: uuid.UUID, named: object) -> dict[uuid.UUID, Pack]:
    """Return the latest pack of each run that the assessor took up on the device."""
    rows = Pack.objects.filter(device=device).select_related("assessor", "run__program__provider")
    if named is not None:
        if not (str(named).isascii() and str(named).isdigit() and len(str(named)) < 19):
            raise Refused(_("The file's assessor is not the id of a person."), field="file")
        rows = rows.filter(assessor=int(str(named)))
    found = list(rows.order_by("-taken_at", "pk"))
    if not found:
        raise Refused(
            _(
                "Nothing was taken up from this server on the device and by the assessor of this "
                "file. Read it in on the server that the device belongs to."
            ),
            field="file",
        )
    if len({pack.assessor_id for pack in found}) > 1:
        raise Refused(
            _(
                "Several people scored on this device, and the file does not say whose events "
                "these "
                "are. Save it anew on the device."
            ),
            field="file",
        )
    packs: dict[uuid.UUID, Pack] = {}
    for pack in found:
        packs.setdefault(pack.run_id, pack)
    return packs


def _receive(packs: Mapping[uuid.UUID, Pack], events: Sequence[Any]) -> list[Result]:
    """Take each event in under the pack of its run; under the latest where it has none."""
    named = [_attempt(event) for event in events]
    runs = dict(
        Attempt.objects.filter(pk__in={each for each in named if each})
        .order_by()
        .values_list("pk", "enrolment__run")
    )
    latest = next(iter(packs.values()))
    places: dict[uuid.UUID, list[int]] = {}
    for place, attempt in enumerate(named):
        run = runs.get(attempt) if attempt else None
        pack = packs.get(run, latest) if run else latest
        places.setdefault(pack.run_id, []).append(place)
    results: dict[int, Result] = {}
    for run, found in places.items():
        for start in range(0, len(found), BATCH):
            part = found[start : start + BATCH]
            answers = receive(packs[run], [events[place] for place in part])
            results.update(zip(part, answers, strict=True))
    return [results[place] for place in range(len(events))]


def _attempt(event: object) -> uuid.UUID | None:
    named = event.get("attempt") if isinstance(event, dict) else None
    try:
        return uuid.UUID(named) if isinstance(named, str) else None
    except ValueError:
        return None
