"""What somebody lacks to answer what a post asks, and how much it takes to mend it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from datetime import date, timedelta
from typing import NamedTuple
from uuid import UUID

from django.utils.translation import gettext as _

from certificates.queries.needs import NEVER, Ask, Judge, counting
from certificates.queries.qualified import Held
from certificates.queries.standing import DOUBTFUL, SUSPENDED
from certificates.queries.why_not import too_old
from certificates.wording import day

# How much a step takes, the least first. Only the order is meant, and that any one step of a
# kind is less than any of the next; common practice, no source.
CONFIRM = 1
AWAITS_RECORD = 2
ISSUED_AGAIN = 4
RENEW = 10
RESTORE = 15
FURTHER = 20  # and one more for each condition that is not covered
ANEW = 50
ENROLLED = 60
WHOLE = 100


class Lack(NamedTuple):
    """What is missing, in sentences, and how much it takes."""

    effort: int
    missing: str


class Met(NamedTuple):
    """A passing standard that was met, of which the record is not issued yet."""

    provider: int
    code: str
    version: int
    standard: UUID


def lack_of(
    ask: Ask,
    *,
    held: Iterable[Held],
    met: Iterable[Met],
    enrolled: Iterable[tuple[int, str, int]],
    judge: Judge,
    on: date,
    today: date,
    confirming: bool = False,
) -> Lack | None:
    """The least that a person lacks to answer ``ask`` on a day; None when nothing is lacking.

    ``held`` are the person's records of the program asked for, ``met`` and ``enrolled`` those of
    any program. ``today`` is the last day whose facts are known: what had to be done before it
    is too late. ``confirming`` as in ``counting``.
    """
    found: list[Lack] = []
    for one in held:
        short = _short(ask, one, judge)
        stretch = counting(one, confirming=confirming)
        if stretch is not None and stretch[0] <= on <= stretch[1]:
            lack = _further(ask, one, short) if short else None
        else:
            lack = _ended(ask, one, short, judge, on=on, today=today)
        if lack is None:
            return None
        found.append(lack)
    found += _of_met(ask, met, judge)
    on_it = [row for row in enrolled if row[:2] == (ask.provider, ask.code)]
    if any(version >= ask.version for _provider, _code, version in on_it):
        text = _("Enrolled in {title}; its passing standard is still to be met.").format(
            title=ask.title
        )
        found.append(Lack(ENROLLED, text))
    found.append(
        Lack(WHOLE, _("The whole program {title} ({code}).").format(title=ask.title, code=ask.code))
    )
    return min(found, key=lambda lack: lack.effort)


def _short(ask: Ask, held: Held, judge: Judge) -> list[str]:
    old = too_old(ask, held)
    return [*([old] if old else []), *judge.shortfalls(ask, held.standard_id)]


def _further(ask: Ask, held: Held, short: Sequence[str]) -> Lack:
    return Lack(
        FURTHER + len(short),
        _("A further assessment in {title}; record {number} falls short of the post: {why}").format(
            title=ask.title, number=held.number, why=" ".join(short)
        ),
    )


def _ended(
    ask: Ask, held: Held, short: Sequence[str], judge: Judge, *, on: date, today: date
) -> Lack:
    """What mends a record that does not count on the day, and may fall short besides."""
    if short:
        # An assessment of what is asked mends both.
        further = _further(ask, held, short)
        return further if held.counts else Lack(ANEW + len(short), further.missing)
    if held.word == DOUBTFUL:
        return Lack(
            ISSUED_AGAIN,
            _("Record {number} is doubtful: its issuer issues it again.").format(
                number=held.number
            ),
        )
    if held.word == SUSPENDED:
        text = _("Record {number} is suspended: its issuer says what restores it.").format(
            number=held.number
        )
        return Lack(RESTORE, text)
    if held.word not in NEVER and held.valid_until is not None and held.valid_until < on:
        return _lapsed(ask, held, held.valid_until, judge, today)
    if held.counts and held.counts_until is not None:
        by = held.confirm_by or held.counts_until
        text = _(
            "Confirmation that the work goes on, the next for work by {day}, signed by {until}."
        )
        return Lack(CONFIRM, text.format(day=day(by), until=day(held.counts_until)))
    return _anew(ask, held)


def _lapsed(ask: Ask, held: Held, until: date, judge: Judge, today: date) -> Lack:
    rules = judge.rules.get(held.standard_id)
    renewal = rules.renewal if rules else None
    # A chain that broke before the last day ended the record for good: nothing is renewed.
    kept = held.counts or (held.counts_until is not None and held.counts_until >= until)
    if renewal is None or not kept or today > until + timedelta(days=renewal.after_days):
        return _anew(ask, held)
    first = until - timedelta(days=renewal.before_days)
    last = until + timedelta(days=renewal.after_days)
    confirmed = held.counts_until is not None and held.counts_until < until
    text = _(
        "A renewal of record {number}, valid until {day}, by a shorter attempt from {first} to "
        "{last}."
    ).format(number=held.number, day=day(until), first=day(first), last=day(last))
    if confirmed:
        text = f"{text} {_('Until its last day it has to be confirmed.')}"
    return Lack(RENEW, text)


def _anew(ask: Ask, held: Held) -> Lack:
    return Lack(
        ANEW,
        _("A new assessment in {title}; record {number} does not count any more.").format(
            title=ask.title, number=held.number
        ),
    )


def _of_met(ask: Ask, met: Iterable[Met], judge: Judge) -> Iterator[Lack]:
    for one in met:
        if (one.provider, one.code) != (ask.provider, ask.code) or one.version < ask.version:
            continue
        short = judge.shortfalls(ask, one.standard)
        if short:
            text = _("A further assessment in {title}; what was met falls short: {why}").format(
                title=ask.title, why=" ".join(short)
            )
            yield Lack(FURTHER + len(short), text)
        else:
            text = _("{title} was met; the provider still has to issue the record.").format(
                title=ask.title
            )
            yield Lack(AWAITS_RECORD, text)
