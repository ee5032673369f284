"""Days and hours as a site's clocks show them, and the instants that they mean."""

from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

from django.utils.formats import date_format
from django.utils.translation import gettext as _

from training.dates import day_text
from training.errors import Refused
from training.models import CourseRun, Site


def zone_of(site: Site) -> ZoneInfo:
    """Return the time zone of ``site``."""
    return ZoneInfo(site.time_zone)


def instant(day: date, at: time, zone: ZoneInfo, *, field: str) -> datetime:
    """Return the instant at which the clocks of ``zone`` show ``at`` on ``day``.

    Raises Refused at ``field`` for an hour that is left out where clocks go forward, and for one
    that comes twice where they go back: nobody would know which is meant.
    """
    shown = datetime.combine(day, at.replace(fold=0, tzinfo=None))
    first, second = (shown.replace(tzinfo=zone, fold=fold) for fold in (0, 1))
    if _there_and_back(first, zone) != shown:
        raise Refused(
            _(
                "There is no {hour} on {day} in {zone}: clocks go forward past it. "
                "Choose an hour before or after."
            ).format(hour=f"{at:%H:%M}", day=day_text(day), zone=zone),
            field=field,
        )
    if first.utcoffset() != second.utcoffset():
        raise Refused(
            _(
                "{hour} comes twice on {day} in {zone}: clocks go back that night. "
                "Choose an hour that comes once, before or after."
            ).format(hour=f"{at:%H:%M}", day=day_text(day), zone=zone),
            field=field,
        )
    return first.astimezone(UTC)


def day_limits(run: CourseRun) -> tuple[datetime, datetime]:
    """Return the instants at which the first day of ``run`` begins and its last one ends."""
    zone = zone_of(run.site)
    after = run.ends_on + timedelta(days=1)
    # Where clocks change at midnight the earlier instant begins the day.
    return tuple(datetime.combine(day, time.min, tzinfo=zone) for day in (run.starts_on, after))  # type: ignore[return-value]


def run_days(run: CourseRun) -> list[date]:
    """Return the days of ``run``, the first one first."""
    number = (run.ends_on - run.starts_on).days + 1
    return [run.starts_on + timedelta(days=each) for each in range(number)]


def span(starts_at: datetime, ends_at: datetime, zone: ZoneInfo) -> str:
    """Return a sentence's part such as "3 Nov 2026, 08:00 to 12:00" by the clocks of ``zone``."""
    start, end = starts_at.astimezone(zone), ends_at.astimezone(zone)
    until = (
        f"{end:%H:%M}"
        if start.date() == end.date()
        else _("{hour} on {day}").format(hour=f"{end:%H:%M}", day=_day(end))
    )
    return _("{day}, {start} to {until}").format(
        day=_day(start), start=f"{start:%H:%M}", until=until
    )


def _day(at: datetime) -> str:
    return date_format(at, "j M Y")


def _there_and_back(at: datetime, zone: ZoneInfo) -> datetime:
    return at.astimezone(UTC).astimezone(zone).replace(tzinfo=None, fold=0)
