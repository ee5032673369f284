"""E-mails about sessions, with the sessions as calendar files; sent once the facts are saved."""

from collections.abc import Iterable, Sequence
from functools import partial

from django.conf import settings
from django.core.mail import EmailMultiAlternatives, get_connection
from django.db import transaction
from django.template.loader import render_to_string
from django.urls import reverse
from django.utils import timezone

from training.ical import CANCEL, REQUEST, invitation
from training.models import CourseRun, Person, Session
from training.queries.calendar import is_published, participants, sessions_of
from training.site_time import span, zone_of

FOLDER = "training/calendar/email"


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
        word = "Changed" if changed else "Invitation"
        _tell(run, sessions, people, method=REQUEST, word=word)


def tell_cancelled(
    run: CourseRun, sessions: Sequence[Session], *, people: Iterable[Person] | None = None
) -> None:
    """Take ``sessions`` out of the calendars of who takes part, or of ``people`` alone.

    The caller has counted their ``sequence`` up.
    """
    if is_published(run):
        _tell(run, sessions, people, method=CANCEL, word="Cancelled")


def tell_of_place(person: Person, run: CourseRun) -> None:
    """Tell somebody of the waiting list that a place is theirs now."""
    context = {"reader": person, "run": run, "url": settings.BASE_URL + reverse("home")}
    subject = f"You have a place: {run.program.title}"
    text = render_to_string(f"{FOLDER}/place.txt", context)
    _send([_message(person, subject, text)] if person.is_active else [])


def _tell(
    run: CourseRun,
    sessions: Sequence[Session],
    people: Iterable[Person] | None,
    *,
    method: str,
    word: str,
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
            _invite(run, person, found, method=method, word=word)
            for person, found in theirs.items()
            if found and person.is_active
        ]
    )


def _invite(
    run: CourseRun, person: Person, sessions: Sequence[Session], *, method: str, word: str
) -> EmailMultiAlternatives:
    zone = zone_of(run.site)
    rows = [(each, span(each.starts_at, each.ends_at, zone)) for each in sessions]
    what = f"{rows[0][0].title}, {rows[0][1]}" if len(rows) == 1 else f"{len(rows)} sessions"
    text = render_to_string(
        f"{FOLDER}/sessions.txt",
        {
            "reader": person,
            "run": run,
            "rows": rows,
            "zone": zone,
            "cancelled": method == CANCEL,
            "changed": word == "Changed",
            "url": settings.BASE_URL + reverse("my_sessions"),
        },
    )
    message = _message(person, f"{word}: {what} ({run.program.title})", text)
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


def _message(person: Person, subject: str, text: str) -> EmailMultiAlternatives:
    # A title with a line break in it would not do as a subject.
    return EmailMultiAlternatives(" ".join(subject.split()), text, None, [person.email])


def _send(messages: list[EmailMultiAlternatives]) -> None:
    for message in messages:
        # Each on its own: one address that is refused keeps nobody else from being told.
        transaction.on_commit(partial(_send_one, message), robust=True)


def _send_one(message: EmailMultiAlternatives) -> None:
    get_connection().send_messages([message])
