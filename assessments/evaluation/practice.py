"""Time in supervised practice beside the score reached, person by person."""

import uuid
from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from assessments.evaluation.loading import Row
from training.models import Attendance, CourseRun, Enrolment, Module, Session
from training.queries.stays import presence_of

Place = tuple[uuid.UUID, int]


@dataclass(frozen=True)
class Pair:
    """One person of a run: ``minutes`` attended in supervised practice, overall ``score`` 0..1."""

    minutes: int
    score: float


@dataclass(frozen=True)
class Paired:
    """The pairs, and how many scored people of whose presence in practice nothing is noted."""

    pairs: Sequence[Pair]
    unnoted: int


def practice_minutes(runs: Iterable[CourseRun]) -> dict[Place, int]:
    """Return minutes in sessions of supervised practice by (run, person) (two queries).

    Only who has a row of attendance in such a session is a key: nothing noted is not nought.
    """
    sessions = {
        session.pk: session
        for session in Session.objects.filter(
            run__in=[run.pk for run in runs],
            state=Session.State.PLANNED,
            module__kind=Module.Kind.PRACTICE,
        )
    }
    rows: dict[tuple[uuid.UUID, int], list[Attendance]] = defaultdict(list)
    standing = Attendance.objects.filter(session__in=list(sessions), replaced_by__isnull=True)
    for row in standing.select_related("person"):
        rows[row.session_id, row.person_id].append(row)
    minutes: dict[Place, int] = defaultdict(int)
    for (key, person), found in rows.items():
        session = sessions[key]
        minutes[session.run_id, person] += presence_of(session, found[0].person, found).minutes
    return dict(minutes)


def paired(rows: Iterable[Row], minutes: dict[Place, int]) -> Paired:
    """Return a pair for everybody enrolled who has an overall score and noted practice."""
    pairs, unnoted = [], 0
    for row in rows:
        if row.state != Enrolment.State.ENROLLED or row.decided is None:
            continue
        if row.decided.overall is None:
            continue
        spent = minutes.get((row.run, row.person))
        if spent is None:
            unnoted += 1
        else:
            pairs.append(Pair(spent, float(row.decided.overall)))
    return Paired(pairs, unnoted)
