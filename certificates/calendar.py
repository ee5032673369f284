"""The days of a crew's records as an iCalendar stream (RFC 5545)."""

from collections.abc import Iterable
from datetime import UTC, timedelta

from django.utils.translation import gettext as _
from icalendar import Calendar, vDuration
from icalendar import Event as Entry

from certificates.queries.feeds import LAPSE, Event

PRODUCT = "-//Bankermark//Crew calendar//EN"
REFRESH = timedelta(hours=12)


def crew_calendar(name: str, events: Iterable[Event]) -> bytes:
    """Return the events as whole days that take up no time, without alarms.

    The same records give the same bytes. A record's entry keeps its UID when its day moves
    (RFC 5545, 3.8.4.7), and SEQUENCE then rises (3.8.7.4). Of a person only the name, the
    program and the record's number are told.
    """
    calendar = Calendar()
    calendar.add("prodid", PRODUCT)
    calendar.add("version", "2.0")
    calendar.add("name", name)  # RFC 7986, 5.1; programs older than that read the next line
    calendar.add("x-wr-calname", name)
    calendar.add("refresh-interval", vDuration(REFRESH), parameters={"VALUE": "DURATION"})
    for event in events:
        calendar.add_component(_entry(event))
    stream: bytes = calendar.to_ical()
    return stream


def _entry(event: Event) -> Entry:
    entry = Entry()
    entry.add("uid", f"{event.kind}-{event.record_id}@bankermark")
    entry.add("dtstamp", event.changed_at.astimezone(UTC).replace(microsecond=0))
    entry.add("sequence", event.sequence)
    entry.add("dtstart", event.day)
    entry.add("summary", f"{_what(event)}: {event.holder}, {event.program}")
    record = _("Record {number}").format(number=event.number)
    entry.add("description", f"{event.holder}\n{event.program}\n{record}")
    entry.add("transp", "TRANSPARENT")
    entry.add("class", "PRIVATE")
    return entry


def _what(event: Event) -> str:
    return _("Last day of validity") if event.kind == LAPSE else _("Confirm work by")
