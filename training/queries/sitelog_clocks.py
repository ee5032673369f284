"""How much working life a batch has left, and how long a repair still cures, in words."""

from dataclasses import dataclass
from datetime import datetime, timedelta

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from training.models import Curing, MortarBatch

SOON = timedelta(minutes=15)
MINUTE, HOUR = timedelta(minutes=1), timedelta(hours=1)
HOURS_IN_MINUTES = 120  # from here on words say hours


@dataclass(frozen=True)
class Clock:
    """A state with its word, tone and shape (see includes/status.html); ``until`` is aware.

    ``state`` of a batch is working, soon, over or gone; of a curing: cures, due, ended or early.
    """

    state: str
    word: str
    tone: str
    shape: str
    until: datetime

    @property
    def runs(self) -> bool:
        """Whether the word changes with time."""
        return self.state in ("working", "soon", "over", "cures", "due")


def working_until(batch: MortarBatch) -> datetime:
    """Return when the working life of a batch ends."""
    return batch.mixed_at + timedelta(minutes=batch.working_minutes)


def due_at(curing: Curing) -> datetime:
    """Return until when the protection stays on."""
    return curing.started_at + timedelta(hours=curing.hours)


def batch_clock(batch: MortarBatch, now: datetime) -> Clock:
    """Return how a batch stands: at the end of its life it is over, not a minute later."""
    until = working_until(batch)
    if batch.discarded_at is not None:
        return Clock("gone", _("Nothing left"), "none", "bar", until)
    if now >= until:
        passed = now - until
        word = (
            _("Throw away: its working life ended")
            if passed < MINUTE
            else _("Throw away: its working life ended {length} ago").format(
                length=in_words(passed)
            )
        )
        return Clock("over", word, "bad", "stop", until)
    left = in_words(until - now)
    if until - now <= SOON:
        return Clock(
            "soon",
            _("{left} left: use it up or throw it away").format(left=left),
            "doubt",
            "half",
            until,
        )
    return Clock("working", _("{left} left").format(left=left), "good", "check", until)


def curing_clock(curing: Curing, now: datetime) -> Clock:
    """Return how a repair cures."""
    due = due_at(curing)
    if curing.ended_at is not None:
        hours = (curing.ended_at - curing.started_at) // HOUR
        if curing.ended_at < due:
            word = _("Protection off too early: after {hours} of {asked} hours").format(
                hours=hours, asked=curing.hours
            )
            return Clock("early", word, "bad", "cross", due)
        return Clock(
            "ended",
            _("Protection off after {hours}").format(hours=_hours(hours)),
            "none",
            "bar",
            due,
        )
    if now >= due:
        word = ngettext(
            "{count} hour is over: look at it", "{count} hours are over: look at it", curing.hours
        ).format(count=curing.hours)
        return Clock("due", word, "doubt", "half", due)
    return Clock(
        "cures",
        _("Keep protected: {length} left").format(length=in_words(due - now)),
        "wait",
        "dot",
        due,
    )


def in_words(length: timedelta) -> str:
    """Return a length of time in whole minutes (rounded down), from 2 hours on in hours.

    >>> in_words(timedelta(minutes=1)), in_words(timedelta(minutes=119, seconds=59))
    ('1 minute', '119 minutes')
    >>> in_words(timedelta(hours=3, minutes=5)), in_words(timedelta(seconds=59))
    ('3 hours 5 minutes', 'less than a minute')
    """
    minutes = length // MINUTE
    if minutes < 1:
        return _("less than a minute")
    if minutes < HOURS_IN_MINUTES:
        return _minutes(minutes)
    hours, rest = divmod(minutes, 60)
    return f"{_hours(hours)} {_minutes(rest)}" if rest else _hours(hours)


def _hours(number: int) -> str:
    return ngettext("{count} hour", "{count} hours", number).format(count=number)


def _minutes(number: int) -> str:
    return ngettext("{count} minute", "{count} minutes", number).format(count=number)
