"""Photographs of the site log that show a criterion met, for who practises it.

Whose work it was is told nobody: neither name, caption nor note goes with such a photograph.
It is shown where nobody can be recognised in it and whoever made the piece agreed to photographs,
or where the work is the reader's own.
"""

import uuid
from collections.abc import Collection

from assessments.models import Attempt, Decision, LoggedEvidence
from assessments.queries.scope import attempts_visible_to
from assessments.subjects import CRITERION
from training.models import Consent, LogPhoto, Person
from training.queries.consents import consents_of

MOST = 2  # photographs of a criterion: enough to see what is meant
FOUND = "met"


def good_work(attempt: Attempt, keys: Collection[str]) -> dict[str, list[LogPhoto]]:
    """Return the newest photographs of work that met each of the criteria (four queries at most).

    Under the attempt's own standard alone: there the criterion is the very same.
    """
    if not keys:
        return {}
    shown = list(
        LoggedEvidence.objects.filter(
            attempt__standard=attempt.standard_id,
            attempt__state=Attempt.State.DECIDED,
            subject_kind=CRITERION,
            subject_key__in=keys,
            note__photos__isnull=False,
        )
        .select_related("attempt__enrolment")
        .order_by("-note__at", "-id")
        .distinct()
    )
    if not shown:
        return {}
    met = _met({row.attempt_id for row in shown})
    own = attempt.enrolment.person_id
    provider = attempt.enrolment.run.program.provider_id
    agreed = consents_of({row.attempt.enrolment.person_id for row in shown}, provider)
    photos: dict[uuid.UUID, list[LogPhoto]] = {}
    notes = {row.note_id for row in shown}
    for photo in LogPhoto.objects.filter(note__in=notes).order_by("note", "position"):
        photos.setdefault(photo.note_id, []).append(photo)
    found: dict[str, list[LogPhoto]] = {}
    for row in shown:
        if row.subject_key not in met.get(row.attempt_id, ()):
            continue
        maker = row.attempt.enrolment.person_id
        for photo in photos[row.note_id]:
            free = not photo.people and agreed[maker][Consent.Kind.PHOTOGRAPHS]
            if photo.file and photo.file.name != "erased" and (maker == own or free):
                _add(found.setdefault(row.subject_key, []), photo)
    return {key: listed for key, listed in found.items() if listed}


def good_photo_visible_to(
    person: Person, attempt_id: uuid.UUID, photo_id: uuid.UUID
) -> LogPhoto | None:
    """Return a photograph of good work for who may read the decided attempt, else None."""
    attempt = (
        attempts_visible_to(person)
        .filter(pk=attempt_id, state=Attempt.State.DECIDED)
        .select_related("standard", "enrolment__run__program")
        .first()
    )
    if attempt is None:
        return None
    keys = {row["key"] for row in attempt.standard.document["criteria"]}
    shown = good_work(attempt, keys)
    return next((each for row in shown.values() for each in row if each.pk == photo_id), None)


def _add(listed: list[LogPhoto], photo: LogPhoto) -> None:
    if len(listed) < MOST and photo not in listed:
        listed.append(photo)


def _met(attempts: Collection[uuid.UUID]) -> dict[uuid.UUID, set[str]]:
    """Return the criteria that were met, by attempt, in the decisions that count."""
    rows = Decision.objects.filter(attempt__in=attempts, replaced_by__isnull=True)
    return {
        attempt: {each["key"] for each in criteria if each["result"] == FOUND}
        for attempt, criteria in rows.values_list("attempt", "document__criteria")
    }
