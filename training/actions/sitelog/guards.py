"""What every entry of the site log is asked: who writes, and whether its moment can be right."""

import re
from datetime import datetime, time, timedelta
from zoneinfo import ZoneInfo

from django.core.exceptions import PermissionDenied
from django.utils import timezone
from django.utils.translation import gettext as _

from training.dates import day_text
from training.errors import Refused
from training.models import CourseRun, LogNote, Person
from training.queries.scope import is_lead
from training.queries.sitelog_scope import keeps_log, writes_notes

# Phones are some minutes off; a run is prepared some weeks ahead.
CLOCK_OFF = timedelta(minutes=5)
BEFORE_RUN = timedelta(days=60)
SQUARE = re.compile(r"([A-Za-z]{1,2})[\s-]*([0-9]{1,3})")


def require_keeper(actor: Person, run: CourseRun) -> None:
    """Raise PermissionDenied unless ``actor`` leads or teaches the run."""
    if not keeps_log(actor, run):
        raise PermissionDenied(_("Only a lead or an instructor of the run writes this in its log."))


def require_writer(actor: Person, run: CourseRun) -> None:
    """Raise PermissionDenied unless ``actor`` leads, teaches or, while it is open, follows it."""
    if not writes_notes(actor, run):
        raise PermissionDenied(
            _("Only a lead, an instructor or, while the run is open, a trainee of it writes notes.")
        )


def require_own_or_lead(actor: Person, run: CourseRun, first: LogNote) -> None:
    """Raise PermissionDenied for who neither wrote the note nor leads the provider."""
    require_writer(actor, run)
    if first.by_id == actor.pk:
        return
    require_keeper(actor, run)
    if not is_lead(actor, run.program.provider):
        raise PermissionDenied(_("Only who wrote this note, or a training lead, changes it."))


def check_moment(run: CourseRun, at: datetime, *, field: str) -> None:
    """Raise Refused, at ``field``, for a moment to come or long before the run."""
    if at > timezone.now() + CLOCK_OFF:
        raise Refused(_("This lies in the future: write when it was."), field=field)
    zone = ZoneInfo(run.site.time_zone)
    if at < datetime.combine(run.starts_on - BEFORE_RUN, time.min, tzinfo=zone):
        raise Refused(
            _(
                "This is more than {days} days before the first day of the run "
                "({starts_on}): check the date."
            ).format(days=BEFORE_RUN.days, starts_on=day_text(run.starts_on)),
            field=field,
        )


def tidy_grid(grid: str) -> str:
    """Return a grid reference as it is kept: letters, then the number; other words stay.

    >>> tidy_grid(" c 4 "), tidy_grid("c-4"), tidy_grid("below the string course")
    ('C4', 'C4', 'below the string course')
    """
    words = " ".join(grid.split())
    square = SQUARE.fullmatch(words)
    return f"{square[1].upper()}{int(square[2])}" if square else words
