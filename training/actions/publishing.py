"""Sending the calendar of a run to those who take part, the first time."""

from django.db import transaction
from django.utils.translation import gettext as _

from training.actions.invitations import tell_planned
from training.actions.log import write_log
from training.actions.permission import require_lead
from training.actions.sessions import lock_run
from training.errors import Refused
from training.models import CourseRun, Person
from training.queries.calendar import PUBLISHED, is_published, sessions_of


@transaction.atomic
def publish_calendar(*, actor: Person, run: CourseRun) -> int:
    """Invite who takes part to every planned session; return the number of sessions.

    From then on each change is told at once. Raises PermissionDenied for anyone but a lead,
    Refused for a closed run, a calendar without sessions, and one that is published already.
    """
    require_lead(actor, run.program.provider)
    run = lock_run(run)
    if is_published(run):
        raise Refused(
            _("This calendar is published already: every change is sent when it is made.")
        )
    sessions = list(sessions_of(run))
    if not sessions:
        raise Refused(_("There is nothing to publish yet: add a session first."))
    # Before the invitations: they are sent for published calendars alone.
    write_log(actor=actor, verb=PUBLISHED, subject=run, data={"sessions": len(sessions)})
    tell_planned(run, sessions)
    return len(sessions)
