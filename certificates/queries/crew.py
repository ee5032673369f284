"""The register of a crew: who met which program, and which record shows it until when.

The crew is that of today, whatever the day asked about: a person's records are seen only while
the person is employed. The records, results and words are those of the day asked about.
"""

import json
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any, NamedTuple
from uuid import UUID

from django.db import connection
from django.db.models import Exists, OuterRef, QuerySet
from django.utils import timezone
from django.utils.translation import gettext_noop as N_

from certificates.queries.qualified import COUNTING, TONES, parameters, told_tone
from certificates.queries.register_sql import ORDERS, every_sql, page_sql
from training.models import Employment, Enrolment, Organisation, Person, Program
from training.queries.scope import contractor_organisations, employments_of_crew

# Words of a row beside those of a record's standing.
AWAITS_RECORD = "awaits_record"
NOT_YET_MET = "not_yet_met"
INCOMPLETE = "incomplete"
NO_RESULT = "no_result"
NOTHING = "nothing"

# word -> tone, shape and words of a status, the best first: the order of sorting by state.
REGISTER_TONES: dict[str, tuple[str, str, str]] = {
    **{word: TONES[word] for word in COUNTING},
    AWAITS_RECORD: ("good", "dot", N_("Met, no record yet")),
    **{word: tone for word, tone in TONES.items() if word not in COUNTING},
    NOT_YET_MET: ("bad", "cross", N_("Not yet met")),
    INCOMPLETE: ("doubt", "gap", N_("Incomplete")),
    NO_RESULT: ("none", "gap", N_("No result yet")),
    NOTHING: ("none", "gap", N_("Nothing to show")),
}

PAGE = 50
ROWS_AT_ONCE = 2000


class Row(NamedTuple):
    """One person and one program (any version of it) with the record that serves best.

    That is one that counts, and of these the one that counts longest. Without a record the
    word tells the result; without a program it is ``nothing``.
    """

    holder_id: int
    holder: str
    employer: str
    program_code: str | None
    program_title: str | None
    program_version: int | None
    provider_id: int | None
    word: str
    counts: bool
    record_id: UUID | None
    number: str | None
    issued_on: date | None
    valid_until: date | None
    confirm_by: date | None
    counts_until: date | None

    @property
    def tone(self) -> tuple[str, str, str]:
        """Tone, shape and words of the state, as files have them."""
        return REGISTER_TONES[self.word]

    @property
    def told(self) -> tuple[str, str, str]:
        """The same with the words in the reader's language."""
        return told_tone(self.tone)


@dataclass(frozen=True)
class Asked:
    """What of the register is asked for; everything, on today, when nothing is given.

    ``family`` is the key of a program's latest version; ``standards`` those that cover what is
    asked for, None for any. ``order`` is a key of ORDERS.
    """

    at: date | None = None
    text: str = ""
    family: UUID | None = None
    standards: tuple[UUID, ...] | None = None
    word: str = ""
    employer: int | None = None
    order: str = next(iter(ORDERS))


@dataclass(frozen=True)
class Page:
    """The rows of a page, and of the whole filter the totals by word and how many rows."""

    rows: list[Row]
    totals: Mapping[str, int]
    count: int
    number: int
    people: int


def register_page(manager: Person, asked: Asked, number: int = 1) -> Page:
    """Return one page of the register; the last for a number after it. Four queries.

    The totals are those of the filter without its word, so that each word can be chosen next.
    """
    values = _values(manager, asked)
    with connection.cursor() as cursor:
        cursor.execute(page_sql(asked.order), {**values, "size": PAGE, "page": max(number, 1)})
        found = cursor.fetchall()
    totals: dict[str, int] = json.loads(found[0][0])
    rows = [Row(*row[1:]) for row in found if row[1] is not None]
    count = _count(totals, asked)
    number = min(max(number, 1), max(1, -(-count // PAGE)))
    return Page(rows, totals, count, number, len(values["people"]))


def register_rows(manager: Person, asked: Asked) -> Iterator[Row]:
    """Yield every row of the filter, some at a time, so that a long register fits in memory."""
    values = _values(manager, asked)
    with connection.chunked_cursor() as cursor:
        cursor.execute(every_sql(asked.order), values)
        while rows := cursor.fetchmany(ROWS_AT_ONCE):
            yield from (Row(*row) for row in rows)


def programs_of_crew(manager: Person) -> list[Program]:
    """Return the latest version of every program that somebody of the crew took part in.

    By code, each with its provider (one query).
    """
    taken = Enrolment.objects.filter(
        run__program=OuterRef("pk"), person__in=_crew(manager).order_by().values("person")
    )
    version = Program.objects.filter(
        Exists(taken), provider=OuterRef("provider"), code=OuterRef("code")
    )
    later = Program.objects.filter(
        provider=OuterRef("provider"), code=OuterRef("code"), version__gt=OuterRef("version")
    )
    return list(
        Program.objects.filter(Exists(version), ~Exists(later))
        .select_related("provider")
        .order_by("code", "title", "pk")
    )


def employers_of(manager: Person) -> list[Organisation]:
    """Return the contractors whose crew ``manager`` looks after, by name (one query)."""
    return list(contractor_organisations(manager))


def _crew(manager: Person, employer: int | None = None) -> QuerySet[Employment]:
    found = employments_of_crew(manager)
    return found if employer is None else found.filter(organisation=employer)


def _values(manager: Person, asked: Asked) -> dict[str, Any]:
    """Two queries: who is on the crew, and the zones of the sites."""
    crew = list(
        _crew(manager, asked.employer).order_by().values_list("person_id", "organisation_id")
    )
    escaped = asked.text.replace("\\", "\\\\").replace("%", "\\%").replace("_", "\\_")
    return {
        **parameters(asked.at, people=sorted({person for person, _ in crew})),
        "employers": sorted({organisation for _, organisation in crew}),
        "today": timezone.localdate(),
        "text": f"%{escaped}%" if asked.text else None,
        "family": asked.family,
        "standards": None if asked.standards is None else list(asked.standards),
        "word": asked.word,
        "words": list(REGISTER_TONES),
    }


def _count(totals: Mapping[str, int], asked: Asked) -> int:
    if asked.word:
        return totals.get(asked.word, 0)
    hidden = NOTHING if asked.family else ""
    return sum(number for word, number in totals.items() if word != hidden)
