"""Who holds what on a day, in one word, and until when it counts from what is known then.

The word is that of ``standing_of`` for a record that is barred (withdrawn, suspended and so on),
and otherwise of its last day and of the confirmations that it was kept in use. The database works
it out, since the register filters and sorts by it (``qualified_sql``).
"""

from collections.abc import Iterable
from datetime import UTC, date, datetime
from typing import Any, NamedTuple
from uuid import UUID
from zoneinfo import ZoneInfo

from django.db import connection
from django.db.models import QuerySet
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop as N_

from assessments.engine.qualification.continuity import DUE_SOON
from certificates.queries.qualified_sql import EVERY_HELD
from certificates.queries.standing import (
    CURRENT,
    DOUBTFUL,
    LAPSED,
    LAPSES_SOON,
    NOT_ISSUED,
    REPLACED,
    SOON,
    SUSPENDED,
    WITHDRAWN,
)
from training.dates import end_of_day
from training.models import Person, Site

CONFIRMATION_DUE = "confirmation_due"
IN_GRACE = "in_grace"
NOT_CONFIRMED = "not_confirmed"

COUNTING = (CURRENT, LAPSES_SOON, CONFIRMATION_DUE, IN_GRACE)

# word -> tone, shape and words of a status.
TONES = {
    CURRENT: ("good", "check", N_("Current")),
    LAPSES_SOON: ("doubt", "half", N_("Lapses soon")),
    CONFIRMATION_DUE: ("doubt", "dot", N_("Confirmation due")),
    IN_GRACE: ("doubt", "bar", N_("Confirmation overdue, counts in grace")),
    NOT_CONFIRMED: ("bad", "gap", N_("Not confirmed in time")),
    LAPSED: ("bad", "bar", N_("Lapsed")),
    SUSPENDED: ("doubt", "stop", N_("Suspended")),
    WITHDRAWN: ("bad", "stop", N_("Withdrawn")),
    REPLACED: ("none", "bar", N_("Replaced")),
    DOUBTFUL: ("bad", "half", N_("Doubtful")),
    NOT_ISSUED: ("none", "gap", N_("Not issued then")),
}


class Held(NamedTuple):
    """One record of one person, as it stands on the day that was asked about.

    ``counts_from`` and ``counts_until`` are the first and the last day on which it counts, from
    what is known then; None is no end, and a last day before the first means never.
    ``confirm_by`` is the last day, without grace, that work may be confirmed for; None where no
    confirmation is asked for.
    """

    holder_id: int
    holder: str
    record_id: UUID
    number: str
    attempt_id: UUID
    program_id: UUID
    provider_id: int
    program_code: str
    program_title: str
    program_version: int
    standard_id: UUID
    word: str
    counts: bool
    issued_on: date
    valid_until: date | None
    confirm_by: date | None
    counts_from: date
    counts_until: date | None


def held_by(people: Iterable[int] | QuerySet[Person], *, at: date | None = None) -> list[Held]:
    """Return the records of ``people``, by name, program and day of issue (the latest first).

    ``at`` is any day, and means its end at the record's site; None is today with all that is
    known. Left out is what was not issued by then, and what another record had replaced.
    Two queries, and one more for a QuerySet.
    """
    keys = people.values_list("pk", flat=True) if isinstance(people, QuerySet) else people
    return _rows(parameters(at, people=list(keys)))


def held_records(records: Iterable[UUID], *, at: date | None = None) -> list[Held]:
    """Return how these records stand, also those replaced or not issued by then. Two queries."""
    return _rows(parameters(at, records=list(records)))


def tone_of(word: str) -> tuple[str, str, str]:
    """Return tone, shape and words of a standing for ``includes/status.html``; KeyError else."""
    return TONES[word]


def told_tone(tone: tuple[str, str, str]) -> tuple[str, str, str]:
    """Return a tone, shape and words with the words in the reader's language."""
    return tone[0], tone[1], _(tone[2])


def parameters(
    at: date | None, *, people: list[int] | None = None, records: list[UUID] | None = None
) -> dict[str, Any]:
    """Return what ``qualified_sql.HELD`` asks for (one query). ``people`` are listed records."""
    names = sorted(set(Site.objects.order_by().values_list("time_zone", flat=True).distinct()))
    zones = [ZoneInfo(name) for name in names]
    return {
        "people": people,
        "records": records,
        "listed": records is None,
        "zones": names,
        "moments": [_moment(at, zone) for zone in zones],
        "days": [at or timezone.localdate(timezone=zone) for zone in zones],
        "soon": SOON.days,
        "due_soon": DUE_SOON.days,
    }


def _moment(at: date | None, zone: ZoneInfo) -> datetime:
    # As in ``standing_of``: today, all that is known counts, whatever another machine's clock says.
    return datetime.max.replace(tzinfo=UTC) if at is None else end_of_day(at, zone)


def _rows(values: dict[str, Any]) -> list[Held]:
    with connection.cursor() as cursor:
        cursor.execute(EVERY_HELD, values)
        return [Held(*row) for row in cursor.fetchall()]
