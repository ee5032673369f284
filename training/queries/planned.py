"""What a calendar plans against what the program asks, and against what a place holds."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import timedelta

from training.models import CourseRun, Module, Session

MINUTE = timedelta(minutes=1)


@dataclass(frozen=True)
class ModuleMinutes:
    """Minutes that the program asks for a module, and that planned sessions give it."""

    module: Module
    asked: int
    planned: int

    @property
    def missing(self) -> int:
        """Minutes still to plan."""
        return max(0, self.asked - self.planned)


def planned_minutes(run: CourseRun, sessions: Iterable[Session]) -> list[ModuleMinutes]:
    """Return every module of the run's program, in order; cancelled sessions count for nothing."""
    planned: dict[int, timedelta] = {}
    for each in sessions:
        if each.module_id is not None and each.state == Session.State.PLANNED:
            length = each.ends_at - each.starts_at
            planned[each.module_id] = planned.get(each.module_id, timedelta()) + length
    return [
        ModuleMinutes(module, module.minutes, planned.get(module.pk, timedelta()) // MINUTE)
        for module in run.program.modules.all()
    ]


def crowded(sessions: Iterable[Session], enrolled: int) -> Sequence[Session]:
    """Return one planned session for each place that holds fewer than are enrolled."""
    found: dict[int, Session] = {}
    for each in sessions:
        place = each.place
        if place is None or each.state != Session.State.PLANNED:
            continue
        if place.capacity is not None and place.capacity < enrolled:
            found.setdefault(place.pk, each)
    return list(found.values())
