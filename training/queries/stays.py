"""How one person was present in one session, from the rows that stand; asks no database.

The rows are read in the order of their times: *came* opens a stay, *left* ends it, and a second
*came* or *left* in a row changes nothing. A stay that nobody ended lasts to the end of the
session, or up to now while it goes on. Whoever comes or goes within ``GRACE`` of the session's own
times counts as punctual. Sums are made in UTC, so that midnight and a change of the clocks in the
site's zone make no difference to them.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta

from django.utils import timezone
from django.utils.translation import gettext as _

from training.models import Attendance, Person, Session

GRACE = timedelta(minutes=5)  # common practice, no source; said on every page that uses it
MINUTE = timedelta(minutes=1)
OPENS = timedelta(minutes=60)  # before the start: from then on people sign in


@dataclass(frozen=True)
class Presence:
    """One person in one session.

    ``minutes`` is what counts, to the nearest minute; ``late`` and ``left_early`` are minutes, 0
    within the grace. ``came_at`` is None for who was not there, or of whom nothing is noted;
    ``left_at`` is None where the last stay was not ended. ``doubt`` is a sentence where the rows
    do not agree with each other. ``rows`` are those that stand, in the order of their times.
    """

    person: Person
    came_at: datetime | None = None
    left_at: datetime | None = None
    minutes: int = 0
    late: int = 0
    left_early: int = 0
    absent: bool = False
    doubt: str = ""
    withdrawn: bool = False
    rows: tuple[Attendance, ...] = ()

    @property
    def noted(self) -> bool:
        """Whether anything is known of this person's presence."""
        return bool(self.rows)


def presence_of(
    session: Session, person: Person, rows: Iterable[Attendance], *, now: datetime | None = None
) -> Presence:
    """Return how ``person`` was present, from the ``rows`` that stand; asks no database."""
    ordered = tuple(sorted(rows, key=lambda row: (row.at, row.received_at, str(row.pk))))
    start, end = session.starts_at.astimezone(UTC), session.ends_at.astimezone(UTC)
    stays, came_at, left_at, stray = _stays(ordered)
    if came_at is None:
        absent = any(row.kind == Attendance.Kind.ABSENT for row in ordered)
        doubt = _("Left without having come: correct one of them.") if stray else ""
        return Presence(person, absent=absent and not stray, doubt=doubt, rows=ordered)
    until = min(end, (now or timezone.now()).astimezone(UTC))
    attended = sum(
        (_inside(first, last, start, end, until) for first, last in stays), start=timedelta()
    )
    early = end - left_at if left_at is not None else timedelta()
    return Presence(
        person,
        came_at=came_at,
        left_at=left_at,
        minutes=round(attended / MINUTE),
        late=_beyond_grace(came_at - start),
        left_early=_beyond_grace(early),
        doubt=_doubt(ordered, came_at, left_at, start, end),
        rows=ordered,
    )


def _stays(
    rows: Sequence[Attendance],
) -> tuple[list[tuple[datetime, datetime | None]], datetime | None, datetime | None, bool]:
    """Return the stays, when the first began, when the last ended, and whether one never began."""
    stays: list[tuple[datetime, datetime | None]] = []
    open_since: datetime | None = None
    stray = False
    for row in rows:
        at = row.at.astimezone(UTC)
        if row.kind == Attendance.Kind.CAME:
            open_since = open_since or at
        elif row.kind == Attendance.Kind.LEFT and open_since is not None:
            stays.append((open_since, at))
            open_since = None
        elif row.kind == Attendance.Kind.LEFT and not stays:
            stray = True
    if open_since is not None:
        stays.append((open_since, None))
    first = stays[0][0] if stays else None
    return stays, first, stays[-1][1] if stays else None, stray


def _inside(
    first: datetime, last: datetime | None, start: datetime, end: datetime, until: datetime
) -> timedelta:
    """Return how much of a stay lies in the session, by its own times within the grace."""
    begun = start if first <= start + GRACE else first
    ended = until if last is None else last
    if last is not None and last >= end - GRACE:
        ended = min(end, until)
    return max(timedelta(), min(ended, end) - begun)


def _beyond_grace(off: timedelta) -> int:
    return round(off / MINUTE) if off > GRACE else 0


def _doubt(
    rows: Sequence[Attendance],
    came_at: datetime,
    left_at: datetime | None,
    start: datetime,
    end: datetime,
) -> str:
    if any(row.kind == Attendance.Kind.ABSENT for row in rows):
        return _("Noted as not there and as there: correct one of them.")
    if came_at >= end:
        return _("Came after the end of the session: correct the time.")
    if left_at is not None and left_at <= start:
        return _("Left before the start of the session: correct the time.")
    return ""
