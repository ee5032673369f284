"""E-mails about sessions, with the sessions as calendar files; sent once the facts are saved."""

from collections.abc import Iterable, Sequence
from functools import partial

from django.core.mail import EmailMultiAlternatives, get_connection
from django.db import transaction
from django.template.loader import render_to_string
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop as N_
from django.utils.translation import ngettext

from training.ical import CANCEL, REQUEST, invitation
from training.letters import address, send_letter
from training.models import CourseRun, Person, Session
from training.queries.calendar import is_published, participants, sessions_of
from training.reader import reading_as
from training.site_time import span, zone_of

FOLDER = "training/calendar/email"
INVITATION = N_("Invitation: {what} ({program})")
CHANGED = N_("Changed: {what} ({program})")
CANCELLED = N_("Cancelled: {what} ({program})")


def tell_planned(
    run: CourseRun,
    sessions: Sequence[Session],
    *,
    people: Iterable[Person] | None = None,
    changed: bool = False,
) -> None:
    """Invite to ``sessions`` everybody who takes part, or ``people`` alone.

    Trainees are told of all, instructors of those that they teach; nothing is sent before the
    calendar of the run is published.
    """
    if is_published(run):
        subject = CHANGED if changed else INVITATION
        _tell(run, sessions, people, method=REQUEST, subject=subject)


def tell_cancelled(
    run: CourseRun, sessions: Sequence[Session], *, people: Iterable[Person] | None = None
) -> None:
    """Take ``sessions`` out of the calendars of who takes part, or of ``people`` alone.

    The caller has counted their ``sequence`` up.
    """
    if is_published(run):
        _tell(run, sessions, people, method=CANCEL, subject=CANCELLED)


def tell_of_place(person: Person, run: CourseRun) -> None:
    """Tell somebody of the waiting list that a place is theirs now."""
    send_letter(
        person,
        subject=lambda: _("You have a place: {title}").format(title=run.program.title),
        template=f"{FOLDER}/place.txt",
        context={"run": run, "url": address("home")},
    )


def _tell(
    run: CourseRun,
    sessions: Sequence[Session],
    people: Iterable[Person] | None,
    *,
    method: str,
    subject: str,
) -> None:
    """Write one message to each person about all sessions that are theirs."""
    keys = [session.pk for session in sessions]
    whole = list(sessions_of(run, cancelled=True).filter(pk__in=keys)) if keys else []
    for session in whole:
        session.run = run
    only = list(people) if people is not None else None
    everybody = participants(run) if only is None else only
    theirs = {person: list(whole) for person in everybody}
    if only is None:
        for session in whole:
            for each in session.teaching.all():
                theirs.setdefault(each.person, []).append(session)
    _send(
        [
            _invite(run, person, found, method=method, subject=subject)
            for person, found in theirs.items()
            if found and person.is_active
        ]
    )


def _invite(
    run: CourseRun, person: Person, sessions: Sequence[Session], *, method: str, subject: str
) -> EmailMultiAlternatives:
    with reading_as(person):
        message = _written(run, person, sessions, subject, cancelled=method == CANCEL)
    now = timezone.now()
    parts = [invitation(each, person, method=method, now=now) for each in sessions]
    kind = f"text/calendar; method={method}"
    if len(parts) == 1:
        # Calendar programs take an invitation up where it stands beside the text (RFC 6047, 2.4).
        message.attach_alternative(parts[0], kind)
    else:
        # Objects of a method may not hold two events of different UID (RFC 5546, 3.2.2).
        for number, part in enumerate(parts, 1):
            message.attach(f"session-{number}.ics", part, kind)
    return message


def _written(
    run: CourseRun, person: Person, sessions: Sequence[Session], subject: str, *, cancelled: bool
) -> EmailMultiAlternatives:
    """Write the message in the active language, without its calendar files."""
    zone = zone_of(run.site)
    rows = [(each, span(each.starts_at, each.ends_at, zone)) for each in sessions]
    what = ngettext("{count} session", "{count} sessions", len(rows)).format(count=len(rows))
    if len(rows) == 1:
        what = f"{rows[0][0].title}, {rows[0][1]}"
    context = {
        "reader": person,
        "run": run,
        "rows": rows,
        "zone": zone,
        "cancelled": cancelled,
        "changed": subject == CHANGED,
        "url": address("my_sessions"),
    }
    text = render_to_string(f"{FOLDER}/sessions.txt", context)
    line = _(subject).format(what=what, program=run.program.title)
    # A title with a line break in it would not do as a subject.
    return EmailMultiAlternatives(" ".join(line.split()), text, None, [person.email])


def _send(messages: list[EmailMultiAlternatives]) -> None:
    for message in messages:
        # Each on its own: one address that is refused keeps nobody else from being told.
        transaction.on_commit(partial(_send_one, message), robust=True)


def _send_one(message: EmailMultiAlternatives) -> None:
    get_connection().send_messages([message])
