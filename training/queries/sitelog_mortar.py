"""The batches and curings of a run with their clocks."""

from dataclasses import dataclass
from datetime import datetime

from training.models import CourseRun, Curing, MortarBatch
from training.queries.sitelog_clocks import Clock, batch_clock, curing_clock


@dataclass(frozen=True)
class TimedBatch:
    """A batch and how much of its working life is left."""

    batch: MortarBatch
    clock: Clock


@dataclass(frozen=True)
class TimedCuring:
    """What cures, and for how long still."""

    curing: Curing
    clock: Clock


def batches_of(run: CourseRun, now: datetime) -> list[TimedBatch]:
    """Return the batches: those with something left first, by the end of their life (one query)."""
    rows = [
        TimedBatch(batch, batch_clock(batch, now)) for batch in run.batches.select_related("by")
    ]
    left = sorted((row for row in rows if row.clock.runs), key=lambda row: row.clock.until)
    gone = [row for row in reversed(rows) if not row.clock.runs]
    return left + gone


def curings_of(run: CourseRun, now: datetime) -> list[TimedCuring]:
    """Return what cures: the protected first, by when it is due (one query)."""
    curings = run.curings.select_related("by", "batch")
    rows = [TimedCuring(curing, curing_clock(curing, now)) for curing in curings]
    on = sorted((row for row in rows if row.clock.runs), key=lambda row: row.clock.until)
    off = [row for row in reversed(rows) if not row.clock.runs]
    return on + off


def proposed_label(run: CourseRun) -> str:
    """Return the first of B1, B2 and so on that no batch of the run has (one query)."""
    taken = {label.casefold() for label in run.batches.values_list("label", flat=True)}
    number = len(taken) + 1
    while f"b{number}" in taken:
        number += 1
    return f"B{number}"
