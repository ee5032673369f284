"""How full a run is, and who waits for a place."""

from collections.abc import Iterable
from dataclasses import dataclass
from uuid import UUID

from django.db.models import QuerySet

from training.models import CourseRun, Enrolment


@dataclass(frozen=True)
class Places:
    """How many places a run has (None: no limit), and how many are enrolled and wait."""

    capacity: int | None
    enrolled: int
    waiting: int

    @property
    def free(self) -> int | None:
        """How many more can be enrolled; None without a limit."""
        return None if self.capacity is None else max(0, self.capacity - self.enrolled)

    @property
    def full(self) -> bool:
        """Whether the next one enrolled goes on the waiting list."""
        return self.free == 0


def places_of(run: CourseRun) -> Places:
    """Return how full ``run`` is (one query)."""
    states = list(run.enrolments.order_by().values_list("state", flat=True))
    return Places(
        run.capacity,
        states.count(Enrolment.State.ENROLLED),
        states.count(Enrolment.State.WAITING),
    )


def waiting_list(run: CourseRun) -> QuerySet[Enrolment]:
    """Return who waits, the first one first.

    While somebody waits, ``enrolled_at`` says since when, or what a lead made of it by putting
    them first; with a place it says since when that is theirs.
    """
    return (
        run.enrolments.filter(state=Enrolment.State.WAITING)
        .select_related("person")
        .order_by("enrolled_at", "pk")
    )


def places_in_row(enrolments: Iterable[Enrolment]) -> dict[UUID, int]:
    """Return, of all enrolments of one run, the place in the row of each that waits, from 1."""
    waiting = [each for each in enrolments if each.state == Enrolment.State.WAITING]
    waiting.sort(key=lambda each: (each.enrolled_at, each.pk))
    return {each.pk: number for number, each in enumerate(waiting, 1)}
