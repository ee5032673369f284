"""Sessions as iCalendar objects: invitations (RFC 5546), and a person's calendar (RFC 5545).

Times are told in UTC, so that no time zone's rules have to travel along.
"""

from collections.abc import Iterable
from datetime import UTC, datetime, timedelta
from email.utils import parseaddr

from django.conf import settings
from icalendar import Calendar, Event, vCalAddress, vDuration, vText

from training.models import Person, Session

PRODUCT = "-//Bankermark//Sessions//EN"
REFRESH = timedelta(hours=6)
REQUEST, CANCEL, PUBLISH = "REQUEST", "CANCEL", "PUBLISH"


def invitation(session: Session, person: Person, *, method: str, now: datetime) -> str:
    """Return what ``person`` is sent about ``session``: ``method`` is REQUEST or CANCEL.

    The only attendee named is the one who is written to. ``session`` has its run, program and
    site, its place, module and ``teaching`` with people.
    """
    calendar = _calendar(method)
    event = _event(session, now)
    event["status"] = vText("CANCELLED" if method == CANCEL else "CONFIRMED")
    attendee = vCalAddress(f"mailto:{person.email}")
    attendee.params["CN"] = person.full_name
    attendee.params["ROLE"] = "REQ-PARTICIPANT"
    attendee.params["PARTSTAT"] = "NEEDS-ACTION"
    attendee.params["RSVP"] = "FALSE"  # nobody reads answers
    event.add("attendee", attendee)
    calendar.add_component(event)
    text: str = calendar.to_ical().decode()
    return text


def own_calendar(name: str, sessions: Iterable[Session], *, now: datetime) -> bytes:
    """Return the sessions as a stream that a calendar program reads again and again."""
    calendar = _calendar(PUBLISH)
    calendar.add("name", name)  # RFC 7986, 5.1; programs older than that read the next line
    calendar.add("x-wr-calname", name)
    calendar.add("refresh-interval", vDuration(REFRESH), parameters={"VALUE": "DURATION"})
    for session in sessions:
        event = _event(session, now)
        cancelled = session.state == Session.State.CANCELLED
        event["status"] = vText("CANCELLED" if cancelled else "CONFIRMED")
        calendar.add_component(event)
    stream: bytes = calendar.to_ical()
    return stream


def where(session: Session) -> str:
    """Return place, grid reference, site and address, as far as they are known."""
    site = session.run.site
    place = session.place
    parts = [place.name, place.grid] if place else []
    return ", ".join(part for part in (*parts, site.name, site.address) if part)


def sender_address() -> str:
    """Return the bare address that e-mails come from."""
    return parseaddr(settings.DEFAULT_FROM_EMAIL)[1]


def _calendar(method: str) -> Calendar:
    calendar = Calendar()
    calendar.add("prodid", PRODUCT)
    calendar.add("version", "2.0")
    calendar.add("method", method)
    return calendar


def _event(session: Session, now: datetime) -> Event:
    program = session.run.program
    event = Event()
    event.add("uid", f"session-{session.pk}@bankermark")
    # With a METHOD, DTSTAMP is when this object was made (RFC 5545, 3.8.7.2).
    event.add("dtstamp", now.astimezone(UTC).replace(microsecond=0))
    event.add("sequence", session.sequence)
    event.add("dtstart", session.starts_at.astimezone(UTC))
    event.add("dtend", session.ends_at.astimezone(UTC))
    event.add("summary", session.title)
    event.add("location", where(session))
    event.add("description", _description(session))
    organizer = vCalAddress(f"mailto:{sender_address()}")
    organizer.params["CN"] = program.provider.name
    event.add("organizer", organizer)
    return event


def _description(session: Session) -> str:
    lines = [session.run.program.title]
    if session.module:
        lines.append(f"{session.module} ({session.module.get_kind_display().lower()})")
    people = [each.person.full_name for each in session.teaching.all()]
    if people:
        lines.append(f"With {', '.join(people)}")
    return "\n".join(lines)
