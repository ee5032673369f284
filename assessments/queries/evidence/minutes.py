"""How long a criterion took an assessor, from the times that the devices gave."""

from collections.abc import Iterable
from datetime import timedelta

from assessments.models import Observation

# Longer than this lies a break, a night or the curing of a bed between two scores.
LONGEST_GAP = timedelta(hours=2)

Key = tuple[str, int]


def seconds_taken(rows: Iterable[Observation]) -> dict[Key, int]:
    """Return the seconds until the first score of a criterion, by (criterion, assessor's id).

    It is the time since that assessor's score before it on the same device, hold points and
    corrections included. There is none for the first score on a device, nor after a gap of more
    than ``LONGEST_GAP``; a correction does not change the time of what it corrects.
    """
    found: dict[Key, int] = {}
    before: dict[tuple[int, object], Observation] = {}
    for row in sorted(rows, key=lambda each: (each.device_time, each.seq, each.pk)):
        earlier = before.get((row.assessor_id, row.device))
        before[row.assessor_id, row.device] = row
        is_first = row.replaces_id is None and row.subject_kind == Observation.Subject.CRITERION
        if earlier is None or not is_first:
            continue
        gap = row.device_time - earlier.device_time
        if gap <= LONGEST_GAP:
            found[row.subject_key, row.assessor_id] = round(gap.total_seconds())
    return found
