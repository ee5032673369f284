"""How much working life a batch has left, and how long a repair still cures, in words."""

from dataclasses import dataclass
from datetime import datetime, timedelta

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
        return Clock("gone", "Nothing left", "none", "bar", until)
    if now >= until:
        passed = now - until
        since = "" if passed < MINUTE else f" {in_words(passed)} ago"
        return Clock("over", f"Throw away: its working life ended{since}", "bad", "stop", until)
    left = in_words(until - now)
    if until - now <= SOON:
        return Clock("soon", f"{left} left: use it up or throw it away", "doubt", "half", until)
    return Clock("working", f"{left} left", "good", "check", until)


def curing_clock(curing: Curing, now: datetime) -> Clock:
    """Return how a repair cures."""
    due = due_at(curing)
    if curing.ended_at is not None:
        hours = (curing.ended_at - curing.started_at) // HOUR
        if curing.ended_at < due:
            word = f"Protection off too early: after {hours} of {curing.hours} hours"
            return Clock("early", word, "bad", "cross", due)
        return Clock("ended", f"Protection off after {_hours(hours)}", "none", "bar", due)
    if now >= due:
        return Clock("due", f"{_hours(curing.hours)} are over: look at it", "doubt", "half", due)
    return Clock("cures", f"Keep protected: {in_words(due - now)} left", "wait", "dot", due)


def in_words(length: timedelta) -> str:
    """Return a length of time in whole minutes (rounded down), from 2 hours on in hours.

    >>> in_words(timedelta(minutes=1)), in_words(timedelta(minutes=119, seconds=59))
    ('1 minute', '119 minutes')
    >>> in_words(timedelta(hours=3, minutes=5)), in_words(timedelta(seconds=59))
    ('3 hours 5 minutes', 'less than a minute')
    """
    minutes = length // MINUTE
    if minutes < 1:
        return "less than a minute"
    if minutes < HOURS_IN_MINUTES:
        return _counted(minutes, "minute")
    hours, rest = divmod(minutes, 60)
    return _hours(hours) + (f" {_counted(rest, 'minute')}" if rest else "")


def _hours(number: int) -> str:
    return _counted(number, "hour")


def _counted(number: int, word: str) -> str:
    return f"{number} {word}" if number == 1 else f"{number} {word}s"
