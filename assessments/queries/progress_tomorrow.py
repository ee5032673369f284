"""Who needs what on the next morning: by criterion, with the session that teaches it."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from typing import Any

from django.utils import timezone

from assessments.models import PlanItem
from assessments.queries.plans import by_outcome, modules_of
from assessments.queries.progress import LACKING, Cohort, Progress
from training.models import CourseRun, Module, Person, Session
from training.site_time import zone_of


@dataclass(frozen=True)
class Need:
    """A criterion, who lacks it still, and the modules that teach it.

    ``sessions`` are those of the day asked about that teach one of them.
    """

    key: str
    title: str
    critical: bool
    people: Sequence[Person]
    modules: Sequence[Module]
    sessions: Sequence[Session]


@dataclass(frozen=True)
class Tomorrow:
    """A day of a run: who needs what, of whom nothing was seen, what plans say is due."""

    day: date
    sessions: Sequence[Session]
    needs: Sequence[Need]
    unseen: Sequence[Person]
    due: Sequence[PlanItem]


def tomorrow_of(run: CourseRun, cohort: Cohort) -> Tomorrow:
    """Return what to do on the day after today at the site (four queries).

    Somebody lacks a criterion whose last observation, on a practice piece or a decided attempt,
    was not met. Who has met the standard lacks nothing. Most people first, critical before others.
    """
    zone = zone_of(run.site)
    day = timezone.localdate(timezone=zone) + timedelta(days=1)
    start = datetime.combine(day, time.min, zone)
    end = datetime.combine(day + timedelta(days=1), time.min, zone)
    sessions = list(
        Session.objects.filter(
            run=run, state=Session.State.PLANNED, starts_at__gte=start, starts_at__lt=end
        )
        .select_related("module", "place")
        .order_by("starts_at", "id")
    )
    open_rows = [row for row in cohort.rows if not row.met]
    modules = by_outcome(Module.objects.filter(program=run.program_id).prefetch_related("outcomes"))
    needs = [
        need
        for criterion in (cohort.sealed.document["criteria"] if cohort.sealed else ())
        if (need := _need(criterion, open_rows, modules, sessions)).people
    ]
    needs.sort(key=lambda need: (-len(need.people), not need.critical))
    return Tomorrow(
        day,
        sessions,
        needs,
        [row.enrolment.person for row in open_rows if not row.results],
        _due(run, day),
    )


def _need(
    criterion: Mapping[str, Any],
    rows: Sequence[Progress],
    modules: Mapping[str, Sequence[Module]],
    sessions: Sequence[Session],
) -> Need:
    teaching = modules_of(criterion, modules)
    keys = {module.pk for module in teaching}
    return Need(
        criterion["key"],
        criterion["title"],
        criterion["critical"],
        [row.enrolment.person for row in rows if row.results.get(criterion["key"]) in LACKING],
        teaching,
        [session for session in sessions if session.module_id in keys],
    )


def _due(run: CourseRun, day: date) -> list[PlanItem]:
    """Return what agreed plans say is practised by ``day`` and is not done yet (one query)."""
    return list(
        PlanItem.objects.filter(
            plan__attempt__enrolment__run=run,
            plan__agreed_at__isnull=False,
            plan__replaced_by__isnull=True,
            done_on__isnull=True,
            by_day__lte=day,
        )
        .select_related("plan__attempt__enrolment__person", "module")
        .order_by("by_day", "plan__attempt__enrolment__person__full_name", "position")
    )
