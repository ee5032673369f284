"""The parts on what was delivered: the site, what was taught, who attended. Figures only."""

from collections.abc import Iterable, Mapping
from datetime import datetime
from typing import Any

from django.utils import timezone

from assessments.trainingreport.people import People
from training.models import CourseRun, Module, Session
from training.queries.calendar import sessions_of
from training.queries.hours import Hours, PersonHours
from training.said import english
from training.site_time import zone_of

Facts = dict[str, Any]


def site_facts(run: CourseRun, people: People) -> Facts:
    """Return where, for whom and by whom the program was delivered."""
    program, site = run.program, run.site
    return {
        "site": site.name,
        "address": site.address,
        "owner": site.owner.name if site.owner else "",
        "provider": program.provider.name,
        "starts_on": run.starts_on.isoformat(),
        "ends_on": run.ends_on.isoformat(),
        "program": program.title,
        "code": program.code,
        "version": program.version,
        "purpose": program.purpose,
        "scope": program.scope,
        "instructors": sorted(people.label(each.pk) for each in run.instructors.all()),
    }


def taught_facts(run: CourseRun, people: People, hours: Hours) -> Facts:
    """Return the modules with minutes asked and held, and the sessions with who taught them.

    A session is held once it has ended and was not cancelled (two queries).
    """
    now, zone = timezone.now(), zone_of(run.site)
    sessions = list(sessions_of(run))
    return {
        "modules": [
            {
                "key": module.key,
                "title": module.title,
                "kind": english(Module.Kind(module.kind).label),
                "asked": module.minutes,
                "held": sum(
                    minutes_of(each)
                    for each in sessions
                    if each.module_id == module.pk and each.ends_at <= now
                ),
            }
            for module in hours.modules
        ],
        "sessions": [
            {
                "day": each.starts_at.astimezone(zone).date().isoformat(),
                "from": f"{each.starts_at.astimezone(zone):%H:%M}",
                "to": f"{each.ends_at.astimezone(zone):%H:%M}",
                "title": each.title,
                "module": each.module.key if each.module else "",
                "place": each.place.name if each.place else "",
                "taught": each.taught,
                "by": [people.label(teaching.person_id) for teaching in each.teaching.all()],
                "minutes": minutes_of(each),
                "held": each.ends_at <= now,
            }
            for each in sessions
        ],
        "held": sum(minutes_of(each) for each in sessions if each.ends_at <= now),
        "zone": zone.key,
    }


def attendance_facts(people: People, hours: Hours) -> Facts:
    """Return how many took part and for how long: in total, by module, and by person."""
    rows = {each.person.pk: each for each in hours.people}
    present = [each for each in hours.people if each.total]
    asked = bool(hours.asked)
    return {
        "enrolled": sum(not each.withdrawn for each in hours.people),
        "withdrawn": sum(each.state == each.State.WITHDRAWN for each in people.trainees),
        "present": len(present),
        "minutes": sum(each.total for each in hours.people),
        "full": _with_all_hours(hours.people) if asked else None,
        "modules": [
            {
                "key": module.key,
                "title": module.title,
                "asked": module.minutes,
                "minutes": sum(each.by_module[module.pk] for each in hours.people),
                "people": sum(bool(each.by_module[module.pk]) for each in hours.people),
            }
            for module in hours.modules
        ],
        "people": [
            {"name": people.label(each.person_id), **_attended(rows[each.person_id])}
            for each in people.trainees
            if each.person_id in rows
        ],
    }


def minutes_of(session: Session) -> int:
    """Return how long a session is planned to last, to the nearest minute."""
    length: datetime = session.ends_at
    return round((length - session.starts_at).total_seconds() / 60)


def _with_all_hours(rows: Iterable[PersonHours]) -> int:
    return sum(not each.missing and not each.withdrawn for each in rows)


def _attended(row: PersonHours) -> Mapping[str, Any]:
    return {
        "minutes": row.total,
        "missing": row.missing_minutes,
        "withdrawn": row.withdrawn,
    }
