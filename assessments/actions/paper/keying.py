"""From a sheet of paper to observations: all of it, or nothing."""

import uuid
from collections.abc import Sequence
from dataclasses import replace
from datetime import datetime

from django.core.exceptions import PermissionDenied
from django.core.files.base import ContentFile
from django.db import transaction
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop as N_

from assessments.actions.pages import Device, Entry, record_from_page
from assessments.models import Attempt, Observation, PaperObservation, PaperSheet
from assessments.queries.paper import assessors_keyed_for
from assessments.queries.scope import attempts_assessable_by
from training.actions.log import write_log
from training.dates import moment_text
from training.errors import Refused
from training.models import Person
from training.scans import Scan

KEPT_ALREADY = N_(
    "This sheet is kept already, with other entries than these. Open the attempt to see it; to "
    "correct it, open this page anew."
)


def key_in(
    *,
    actor: Person,
    attempt: Attempt,
    assessor: Person,
    device: Device,
    sheet: uuid.UUID,
    scored_at: datetime,
    scan: Scan,
    entries: Sequence[Entry],
) -> PaperSheet:
    """Record ``entries`` as observations of ``assessor``, made at ``scored_at``; return the sheet.

    ``sheet`` is the id made when the form was shown: sent twice, it is stored once. Who keys in
    for somebody else is named in each note. Raises PermissionDenied for who may not assess the
    attempt, or keys in for somebody without leading the provider; Refused at ``scored_at``,
    at ``entries`` when there is none, or at ``<kind>-<key>`` of the subject whose entry
    record_observation refuses. Nothing is stored then.
    """
    _require(actor, attempt, assessor)
    _require_moment(attempt, scored_at)
    if not entries:
        raise Refused(
            _("Nothing is entered yet: key in what stands on the sheet."), field="entries"
        )
    if actor != assessor:
        entries = [_named(entry, actor) for entry in entries]
    keyed = PaperSheet(
        id=sheet,
        attempt=attempt,
        assessor=assessor,
        keyed_by=actor,
        scored_at=scored_at,
        kind=PaperSheet.Kind(scan.kind),
        sha256=scan.sha256,
        size=len(scan.content),
    )
    with transaction.atomic():
        # The same form sent twice at one moment: the second waits here, then finds the sheet.
        # Recording takes a share lock on this row, signing off the whole of it.
        Attempt.objects.select_for_update(no_key=True).only("pk").get(pk=attempt.pk)
        stored = PaperSheet.objects.filter(pk=sheet).first()
        if stored is None:
            return _store(keyed, scan, entries, device)
        if _content(stored) != _content(keyed) or _kept(stored) != _sent(entries):
            raise Refused(KEPT_ALREADY)
        return stored


def _require(actor: Person, attempt: Attempt, assessor: Person) -> None:
    if not attempts_assessable_by(actor).filter(pk=attempt.pk).exists():
        raise PermissionDenied(_("Only a lead or an instructor of the run scores this attempt."))
    if assessor not in assessors_keyed_for(actor, attempt):
        raise PermissionDenied(_("Only a training lead keys in for an instructor of the run."))


def _require_moment(attempt: Attempt, scored_at: datetime) -> None:
    if scored_at > timezone.now():
        raise Refused(_("This lies in the future: write when it was scored."), field="scored_at")
    # The page asks for minutes: what was sealed inside that minute may have been before.
    if scored_at < attempt.standard.sealed_at.replace(second=0, microsecond=0):
        sealed = timezone.localtime(attempt.standard.sealed_at)
        raise Refused(
            _(
                "The passing standard was sealed only on {sealed}: nothing was "
                "scored under it before. Check the day and the time."
            ).format(sealed=moment_text(sealed)),
            field="scored_at",
        )


def _named(entry: Entry, actor: Person) -> Entry:
    # It is kept in the note, so it stays in one language.
    said = f"Keyed in from paper by {actor}."
    return replace(entry, note=f"{entry.note}\n{said}" if entry.note else said)


def _content(sheet: PaperSheet) -> tuple[object, ...]:
    people = (sheet.keyed_by_id, sheet.assessor_id)
    return (sheet.attempt_id, *people, sheet.scored_at, sheet.sha256)


def _kept(sheet: PaperSheet) -> dict[uuid.UUID, tuple[object, ...]]:
    rows = [row.observation for row in sheet.readings.select_related("observation")]
    return {row.pk: (row.subject_kind, row.subject_key, row.value, row.note) for row in rows}


def _sent(entries: Sequence[Entry]) -> dict[uuid.UUID, tuple[object, ...]]:
    return {entry.id: (entry.kind, entry.key, entry.value, entry.note) for entry in entries}


def _store(sheet: PaperSheet, scan: Scan, entries: Sequence[Entry], device: Device) -> PaperSheet:
    made = [_record(sheet, entry, device) for entry in entries]
    sheet.file.save(f"{sheet.pk}{scan.ending}", ContentFile(scan.content), save=False)
    try:
        sheet.save(force_insert=True)
        PaperObservation.objects.bulk_create(
            PaperObservation(sheet=sheet, observation=observation) for observation in made
        )
        write_log(
            actor=sheet.keyed_by,
            verb="paper.keyed",
            subject=sheet,
            data={
                "attempt": str(sheet.attempt_id),
                "assessor": sheet.assessor_id,
                "scored_at": sheet.scored_at.isoformat(),
                "sha256": sheet.sha256,
                "observations": [str(observation.pk) for observation in made],
            },
        )
    except BaseException:
        sheet.file.delete(save=False)
        raise
    return sheet


def _record(sheet: PaperSheet, entry: Entry, device: Device) -> Observation:
    """Record one entry; what is refused is told at its subject."""
    try:
        return record_from_page(
            actor=sheet.assessor,
            attempt=sheet.attempt,
            device=device,
            entry=entry,
            at=sheet.scored_at,
        )
    except Refused as refused:
        raise Refused(refused.message, field=f"{entry.kind}-{entry.key}") from refused
