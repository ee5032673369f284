"""One trainee's assessment, from the first observation to the sign-off."""

import uuid
from collections.abc import Mapping, Sequence
from datetime import timedelta
from typing import Any

from django.utils import timezone

from assessments.actions.attempts import start_attempt
from assessments.actions.decisions import sign_off
from assessments.actions.observations import record_observation
from assessments.engine.quantities import parse_quantity
from assessments.models import Attempt
from training.models import Enrolment, Person


def assess(
    *,
    instructor: Person,
    enrolment: Enrolment,
    values: Mapping[str, Any],
    without: Sequence[str],
    second: tuple[Person, Mapping[str, Any]] | None,
    sign: bool,
    note: str,
) -> Attempt:
    """Score an attempt as ``instructor``, and sign it off if asked.

    ``values`` maps a criterion's or a hold point's stage key to what was seen, in the short
    form of the scenario: a level, ``yes`` or ``no``, a count, a list of readings as typed,
    ``minutes``, or ``not applicable`` with a reason; each may carry a ``note``. ``second`` is
    another assessor, who scores before the sign-off, with where the values differ.
    """
    attempt = start_attempt(actor=instructor, enrolment=enrolment)
    _score(attempt, instructor, values, without)
    if second is not None:
        assessor, differs = second
        _score(attempt, assessor, {**values, **differs}, without)
    if sign:
        sign_off(actor=instructor, attempt=attempt, password_checked=True, note=note)
    return attempt


def _score(
    attempt: Attempt, assessor: Person, values: Mapping[str, Any], without: Sequence[str]
) -> None:
    document = attempt.standard.document
    subjects = [
        ("hold_point", stage["key"], {}) for stage in document["stages"] if stage["hold_point"]
    ] + [("criterion", criterion["key"], criterion) for criterion in document["criteria"]]
    device, epoch = uuid.uuid4(), uuid.uuid4()
    scored = [subject for subject in subjects if subject[1] not in without]
    for seq, (kind, key, criterion) in enumerate(scored, 1):
        seen = values.get(key, {"accepted": True})
        record_observation(
            actor=assessor,
            event={
                "id": str(uuid.uuid4()),
                "attempt": str(attempt.pk),
                "device": str(device),
                "epoch": str(epoch),
                "seq": seq,
                "subject": {"kind": kind, "key": key},
                "value": value_of(criterion, seen),
                "note": seen.get("note", ""),
                "replaces": None,
                "device_time": timezone.localtime().isoformat(),
                "device_zone": attempt.enrolment.run.site.time_zone,
                "standard_digest": attempt.standard.digest,
                "schema_version": 1,
            },
        )


def value_of(criterion: Mapping[str, Any], seen: Mapping[str, Any]) -> dict[str, Any]:
    """Return the engine's value for the short form; see engine/FORMATS.md."""
    if "readings" in seen:
        unit = criterion["unit"]
        readings = [parse_quantity(str(text), unit).as_reading() for text in seen["readings"]]
        return {"readings": readings}
    if "minutes" in seen:
        end = timezone.localtime()
        start = end - timedelta(minutes=seen["minutes"])
        return {"start": start.isoformat(), "end": end.isoformat()}
    if "not_applicable" in seen:
        return {"not_applicable": True, "reason": seen["not_applicable"]}
    return {key: value for key, value in seen.items() if key != "note"}
