"""Whether a record still counts on a day: the chain of confirmations that keeps it.

The idea is that of ISO 9606-1 (confirmation every six months) and of ASME BPVC Section IX,
QW-322 (six months without use): the months and days themselves are the program author's.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta

from dateutil.relativedelta import relativedelta  # type: ignore[import-untyped]

from assessments.engine.errors import EngineError
from assessments.engine.qualification.model import Continuity

KEPT = "kept"
DUE = "confirmation_due"
GRACE = "in_grace"
BROKEN = "not_confirmed"
LAPSED = "lapsed"
BEFORE = "not_yet"

DUE_SOON = timedelta(days=30)


@dataclass(frozen=True, slots=True)
class Confirmed:
    """Work of the record's kind, last done on ``worked_on`` and signed for on ``signed_on``.

    Raises EngineError at ``signed_on`` where that is before the work.
    """

    worked_on: date
    signed_on: date

    def __post_init__(self) -> None:
        if self.signed_on < self.worked_on:
            raise EngineError("signed_on", "Work can only be confirmed once it is done.")


@dataclass(frozen=True, slots=True)
class Kept:
    """How a record stands on a day.

    ``due`` is the last day that work may be confirmed for (None without a rule of continuity),
    ``counts_until`` the last day it counts if nothing more is confirmed (None: no end), and
    ``broken_on`` the first day it no longer counted for want of a confirmation.
    """

    word: str
    due: date | None
    counts_until: date | None
    broken_on: date | None


def kept(
    rules_continuity: Continuity | None,
    *,
    start: date,
    valid_until: date | None,
    confirmations: Iterable[Confirmed],
    on: date,
) -> Kept:
    """How a record that began on ``start`` stands on the day ``on``; every last day counts.

    Only what was signed by ``on`` is known then. A confirmation counts when its work is no later
    than the day due and its signature no later than the grace after that. Nothing mends a gap.
    """
    if rules_continuity is None:
        return Kept(_word(on, start, None, valid_until, valid_until), None, valid_until, None)
    grace = timedelta(days=rules_continuity.grace_days)
    known = [each for each in confirmations if each.signed_on <= on]
    due = _due(rules_continuity, start, known)
    last = due + grace
    counts_until = last if valid_until is None else min(last, valid_until)
    broken_on = last + timedelta(days=1)
    # A record that reached its own last day unbroken has lapsed, and was not broken after that.
    broken = start <= on and broken_on <= on and (valid_until is None or broken_on <= valid_until)
    return Kept(
        _word(on, start, due, counts_until, valid_until),
        due,
        counts_until,
        broken_on if broken else None,
    )


def _due(continuity: Continuity, start: date, known: list[Confirmed]) -> date:
    """The last day due. Going by the day worked, one pass does: what came too late for the day
    due then would, if a later one moved that day, reach no further than the later one does.
    """
    grace = timedelta(days=continuity.grace_days)
    due = _later(start, continuity)
    for each in sorted(known, key=lambda one: (one.worked_on, one.signed_on)):
        if each.worked_on <= due and each.signed_on <= due + grace:
            due = max(due, _later(each.worked_on, continuity))
    return due


def _later(day: date, continuity: Continuity) -> date:
    # A day that the later month lacks becomes its last: 31 August and six months, 28 February.
    later: date = day + relativedelta(months=continuity.every_months)
    return later


def _word(
    on: date,
    start: date,
    due: date | None,
    counts_until: date | None,
    valid_until: date | None,
) -> str:
    if on < start:
        return BEFORE
    if valid_until is not None and valid_until < on:
        return LAPSED
    if counts_until is not None and counts_until < on:
        return BROKEN
    if due is None or (valid_until is not None and valid_until <= due):
        # Nothing to ask for: a confirmation would not carry it past its own last day.
        return KEPT
    if due < on:
        return GRACE
    return DUE if due - DUE_SOON <= on else KEPT
