"""Who was there, and for how long: worked out from the rows of attendance that stand.

A row that a correction replaced does not stand. How rows become minutes is in ``stays.py``.
"""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime

from django.db.models import QuerySet
from django.utils import timezone

from training.models import Attendance, CourseRun, Enrolment, Module, Person, Session
from training.queries.stays import MINUTE, Presence, presence_of

__all__ = ["Hours", "Missing", "PersonHours", "Presence", "hours_of", "presence"]


@dataclass(frozen=True)
class Missing:
    """What a person lacks of a module: ``minutes`` of the ``asked`` ones.

    Of these, ``coming`` may still be attended in sessions that are not over.
    """

    module: Module
    minutes: int
    asked: int
    coming: int = 0

    @property
    def lost(self) -> int:
        """The minutes that no planned session can make up for."""
        return self.minutes - self.coming


@dataclass(frozen=True)
class PersonHours:
    """What one person attended of a run, in minutes.

    ``by_module`` maps each module's pk to minutes; ``other`` is the time in sessions that belong
    to no module. Time beyond what one module asks makes up for no other.
    """

    person: Person
    by_module: Mapping[int, int]
    other: int
    missing: Sequence[Missing]
    withdrawn: bool = False

    @property
    def total(self) -> int:
        """All minutes attended."""
        return sum(self.by_module.values()) + self.other

    @property
    def lost_minutes(self) -> int:
        """All minutes that are missing and that no planned session can make up for."""
        return sum(each.lost for each in self.missing)

    @property
    def missing_minutes(self) -> int:
        """All minutes that are missing of what the program asks."""
        return sum(each.minutes for each in self.missing)


@dataclass(frozen=True)
class Hours:
    """A run's sessions that are held, and what each person attended.

    ``asked`` maps each module's pk to the minutes that the program asks, ``planned`` to those of
    the sessions planned for it. ``sessions`` maps each session to its rows, in order of time.
    """

    modules: Sequence[Module]
    asked: Mapping[int, int]
    planned: Mapping[int, int]
    sessions: Mapping[Session, Sequence[Presence]]
    people: Sequence[PersonHours]

    @property
    def asked_total(self) -> int:
        """All minutes that the program asks."""
        return sum(self.asked.values())

    def of(self, person_id: int) -> PersonHours | None:
        """Return the hours of one person of the run."""
        return next((each for each in self.people if each.person.pk == person_id), None)


def hours_of(run: CourseRun, *, now: datetime | None = None) -> Hours:
    """Return what everybody attended of ``run`` (four queries, whatever its size).

    Everybody enrolled is told, and who withdrew after having been noted; nobody of the waiting
    list. Sessions that were cancelled do not count.
    """
    modules = list(Module.objects.filter(program=run.program_id).order_by("position"))
    planned = Session.objects.filter(run=run, state=Session.State.PLANNED)
    sessions = list(planned.select_related("module", "place").order_by("starts_at", "id"))
    rows = _standing(Attendance.objects.filter(session__in=sessions))
    people = _people(run)
    told = {each: _presences(each, people, rows[each.pk], now) for each in sessions}
    minutes = _planned(sessions)
    coming = _planned(each for each in sessions if each.ends_at > (now or timezone.now()))
    return Hours(
        modules=modules,
        asked={module.pk: module.minutes for module in modules},
        planned={module.pk: minutes[module.pk] for module in modules},
        sessions=told,
        people=_by_person(modules, told, people, coming),
    )


def presence(session: Session, *, now: datetime | None = None) -> list[Presence]:
    """Return a row for everybody of ``session``, by name (two queries, and one for its run)."""
    rows = _standing(Attendance.objects.filter(session=session))
    return _presences(session, _people(session.run), rows[session.pk], now)


def _standing(rows: QuerySet[Attendance]) -> dict[object, dict[int, list[Attendance]]]:
    """Return the rows that no correction replaced, by session and person (one query)."""
    found: dict[object, dict[int, list[Attendance]]] = defaultdict(lambda: defaultdict(list))
    for row in rows.filter(replaced_by__isnull=True).select_related("by"):
        found[row.session_id][row.person_id].append(row)
    return found


def _people(run: CourseRun) -> list[Enrolment]:
    """Return everybody who has or had a place on the run, by name (one query)."""
    placed = run.enrolments.exclude(state=Enrolment.State.WAITING)
    return list(placed.select_related("person").order_by("person__full_name", "id"))


def _presences(
    session: Session,
    people: Sequence[Enrolment],
    rows: Mapping[int, Sequence[Attendance]],
    now: datetime | None,
) -> list[Presence]:
    return [
        replace(
            presence_of(session, each.person, rows.get(each.person_id, ()), now=now),
            withdrawn=_withdrawn(each),
        )
        for each in people
        if each.person_id in rows or not _withdrawn(each)
    ]


def _planned(sessions: Iterable[Session]) -> dict[int, int]:
    """Return the minutes of these sessions by module."""
    minutes: dict[int, int] = defaultdict(int)
    for each in sessions:
        if each.module_id is not None:
            minutes[each.module_id] += round((each.ends_at - each.starts_at) / MINUTE)
    return minutes


def _withdrawn(enrolment: Enrolment) -> bool:
    return enrolment.state == Enrolment.State.WITHDRAWN


def _by_person(
    modules: Sequence[Module],
    told: Mapping[Session, Sequence[Presence]],
    people: Sequence[Enrolment],
    coming: Mapping[int, int],
) -> list[PersonHours]:
    minutes: dict[int, dict[int | None, int]] = defaultdict(lambda: defaultdict(int))
    for session, rows in told.items():
        for row in rows:
            minutes[row.person.pk][session.module_id] += row.minutes
    found = []
    for each in people:
        if _withdrawn(each) and each.person_id not in minutes:
            continue
        own = minutes[each.person_id]
        by_module = {module.pk: own[module.pk] for module in modules}
        found.append(
            PersonHours(
                each.person,
                by_module,
                other=sum(own.values()) - sum(by_module.values()),
                missing=[
                    _missing(module, by_module[module.pk], coming.get(module.pk, 0))
                    for module in modules
                    if by_module[module.pk] < module.minutes
                ],
                withdrawn=_withdrawn(each),
            )
        )
    return found


def _missing(module: Module, attended: int, coming: int) -> Missing:
    short = module.minutes - attended
    return Missing(module, short, module.minutes, min(short, coming))
