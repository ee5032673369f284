"""How the records that a submittal names stand today, beside how they stood then."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date
from typing import Any, NamedTuple

from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop as N_

from certificates.models import Post, Record, Submittal
from certificates.queries.crew_days import today_at
from certificates.queries.day_reasons import crew_on
from certificates.queries.needs import Judge, place_of
from certificates.queries.qualified import COUNTING, Held, held_by, held_records, tone_of
from certificates.queries.ranges import rules_of
from certificates.queries.standing import REPLACED, Standing, standing_of, with_standing
from certificates.queries.why_not import reasons


class Said(NamedTuple):
    """A state for ``includes/status.html``; a constant's word is translated where it is shown."""

    tone: str
    shape: str
    word: str


LEFT = Said("bad", "cross", N_("No longer on the crew"))
SHORT_OF = Said("bad", "cross", N_("Does not cover the post as it is now"))
GONE = Said("bad", "cross", N_("Not known here"))


@dataclass(frozen=True)
class Named:
    """One record named for a post, then and now.

    ``spans`` are the days on which the person was named for it. ``number`` is the record that was
    submitted, ``successor`` the number of the one that stands in its place now, or "".
    ``counted`` and ``counts`` say whether it fills a place of the post: then, and now. ``why``
    are sentences why it does not now. ``confirmed`` says that work was confirmed since. ``word``
    is how the record stands now, ``standing`` the same of the one submitted; without either it is
    not known here.
    """

    person: int | None
    holder: str
    number: str
    leads: bool
    spans: tuple[tuple[date, date], ...]
    then: Said
    now: Said
    counted: bool
    counts: bool
    valid_until: date | None
    confirm_by: date | None
    successor: str = ""
    why: tuple[str, ...] = ()
    confirmed: bool = False
    employed: bool = True
    word: str = ""
    standing: Standing | None = None

    @property
    def key(self) -> object:
        """What tells people apart: names may be alike."""
        return self.person or self.number

    def on(self, day: date) -> bool:
        """Whether the person was named for the post on ``day``."""
        return any(first <= day <= last for first, last in self.spans)


@dataclass(frozen=True)
class Facts:
    """What is known of the records of one submittal, fetched in a constant number of queries."""

    records: Mapping[str, Record]
    submitted: Mapping[str, Held]
    later: Mapping[object, list[Held]]
    crew: frozenset[int]
    judge: Judge
    on: date
    at: date | None

    def held(self, number: str) -> Held | None:
        """Return the record submitted under ``number``, or the one now in its place."""
        found = self.submitted.get(number)
        if found is None or found.word != REPLACED:
            return found
        return max(self.later[found.attempt_id], key=lambda each: each.issued_on, default=found)


def facts_of(submittal: Submittal, on: date) -> Facts:
    """Fetch what ``named`` looks at: of the records submitted and those in their places only."""
    project = submittal.project
    at = None if on == today_at(project) else on
    rows = with_standing(Record.objects.filter(submitted__submittal=submittal))
    records = {record.number: record for record in rows}
    holders = {record.holder_id for record in records.values()}
    submitted = {
        one.number: one for one in held_records([each.pk for each in records.values()], at=at)
    }
    later: dict[object, list[Held]] = defaultdict(list)
    attempts = {one.attempt_id for one in submitted.values()}
    for one in held_by(holders, at=at):
        if one.attempt_id in attempts:
            later[one.attempt_id].append(one)
    standards = {one.standard_id for one in submitted.values()}
    standards.update(one.standard_id for rows in later.values() for one in rows)
    crew = crew_on(project, on).filter(pk__in=holders).values_list("pk", flat=True)
    return Facts(records, submitted, later, frozenset(crew), Judge(rules_of(standards)), on, at)


def named(entry: Mapping[str, Any], post: Post | None, facts: Facts) -> Named:
    """Return one entry of ``covered_by`` with how it stands now.

    ``post`` is the post as it is now, which the record is held against; None where it is gone.
    """
    then = Named(
        person=None,
        holder=entry["holder"],
        number=entry["number"],
        leads=bool(entry["lead"]),
        spans=tuple((day_of(each["first"]), day_of(each["last"])) for each in entry["spans"]),
        then=Said(*tone_of(entry["word"])),
        now=GONE,
        counted=entry["word"] in COUNTING,
        counts=False,
        valid_until=None,
        confirm_by=None,
    )
    held = facts.held(then.number)
    return then if held is None else _now(then, held, post, facts, entry["confirm_by"])


def day_of(text: str) -> date:
    """Return a day as a submittal's document writes it."""
    return date.fromisoformat(text)


def _now(then: Named, held: Held, post: Post | None, facts: Facts, confirm_by: str | None) -> Named:
    employed = held.holder_id in facts.crew
    why = _why(post, held, facts, leads=then.leads) if employed and held.counts else ()
    now = Said(*tone_of(held.word)) if employed else LEFT
    return replace(
        then,
        person=held.holder_id,
        now=SHORT_OF if why else now,
        counts=employed and held.counts and not why,
        valid_until=held.valid_until,
        confirm_by=held.confirm_by,
        successor=held.number if held.number != then.number else "",
        why=why,
        confirmed=_confirmed(held, confirm_by),
        employed=employed,
        word=held.word,
        standing=standing_of(facts.records[then.number], facts.at),
    )


def _confirmed(held: Held, confirm_by: str | None) -> bool:
    """Say whether work was confirmed since: the next day to confirm by came later, or fell away.

    It falls away where the record's last day of validity comes first.
    """
    if confirm_by is None or not held.counts:
        return False
    return held.confirm_by is None or held.confirm_by > day_of(confirm_by)


def _why(post: Post | None, held: Held, facts: Facts, *, leads: bool) -> tuple[str, ...]:
    """Why this record does not answer what the post asks of its program now."""
    if post is None:
        return ()
    asks = [
        ask
        for ask in place_of(post, leads=leads).asks
        if (ask.provider, ask.code) == (held.provider_id, held.program_code)
    ]
    if not asks:
        return (
            _("The post no longer asks for a record of {title}.").format(title=held.program_title),
        )
    return tuple(text for ask in asks for text in reasons(ask, [held], facts.judge, facts.on))
