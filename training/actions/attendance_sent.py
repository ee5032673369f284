"""Receiving what an instructor's device noted: a batch of rows, each judged alone.

Every row gets an answer: ``stored``, ``already`` (the same one is stored), or ``refused`` with a
sentence. What is refused is kept whole in the log, so that nothing that was pressed is lost, and
stands on the page of its session.
"""

import uuid
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import Any

from django.db import IntegrityError, transaction
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop as N_

from training.actions.attendance import CANCELLED, check_replaces
from training.actions.log import write_log
from training.digests import digest
from training.errors import Refused
from training.models import Attendance, Enrolment, LogEntry, Person, Session
from training.queries.attendance import KEPT
from training.queries.calendar import sessions_visible_to

STORED, ALREADY, REFUSED = "stored", "already", "refused"
CLOCK_OFF = timedelta(minutes=10)  # more is told: the times of the device are then doubtful
FIELDS = frozenset({"id", "session", "person", "kind", "at", "replaces"})
LONGEST = 400  # characters of one text
CLASH = N_("This id is stored with other content. That one stands; what came now is kept aside.")
NO_SESSION = N_("You note nobody's presence in such a session.")
NO_PLACE = N_("This person is not enrolled on the run of the session.")
UNREADABLE = N_("This cannot be read as a row of presence.")


@dataclass(frozen=True)
class Answer:
    """What became of the row at ``place`` (from 0) of a batch; ``id`` is None if it has none."""

    id: str | None
    place: int
    result: str
    sentence: str = ""

    def document(self) -> dict[str, Any]:
        """The answer as JSON."""
        return {
            "id": self.id,
            "place": self.place,
            "result": self.result,
            "sentence": self.sentence,
        }


@dataclass(frozen=True)
class _Row:
    id: uuid.UUID
    session: Session
    person: Person
    kind: str
    at: datetime
    replaces: uuid.UUID | None
    content: str


def clock_off(sent_at: datetime, now: datetime) -> str:
    """Return a sentence where a device's clock is more than ten minutes from ours, else ''."""
    off = sent_at - now
    if abs(off) <= CLOCK_OFF:
        return ""
    minutes = round(abs(off) / timedelta(minutes=1))
    way = "ahead of" if off > timedelta() else "behind"
    # Kept as the row's note, so in the language of what is kept.
    return f"The device's clock was {minutes} minutes {way} the server's when this was sent."


@transaction.atomic
def receive_presence(
    *, actor: Person, rows: Sequence[Any], sent_at: datetime, now: datetime | None = None
) -> list[Answer]:
    """Take in what the device of ``actor`` noted and return an answer for each row, in order.

    A row is {id, session, person, kind, at, replaces}. ``at`` is the device's claim and stays as
    it is; ``sent_at`` is its clock at sending, and where that is off by more than ten minutes
    each row says so in its note. Batches of one person queue, so that the same one twice at once
    is stored once.
    """
    now = now or timezone.now()
    Person.objects.select_for_update(no_key=True).get(pk=actor.pk)
    note = clock_off(sent_at, now)
    answers = [_answer(actor, place, row, note, now) for place, row in enumerate(rows)]
    stored = [each.id for each in answers if each.result == STORED]
    if stored:
        data = {"rows": stored, "sent_at": sent_at.astimezone(UTC).isoformat()}
        write_log(actor=actor, verb="attendance.received", subject=actor, data=data)
    return answers


def _answer(actor: Person, place: int, sent: Any, note: str, now: datetime) -> Answer:
    named = _text_of(sent, "id")
    try:
        row = _read(actor, sent)
        stored = Attendance.objects.filter(pk=row.id).first()
        if stored is not None:
            if stored.content_digest == row.content:
                return Answer(named, place, ALREADY)
            raise Refused(_(CLASH))
        _store(actor, row, note, now)
    except Refused as refused:
        _keep(actor, sent, refused.message)
        return Answer(named, place, REFUSED, refused.message)
    return Answer(named, place, STORED)


def _read(actor: Person, sent: Any) -> _Row:
    """Return the row as it is to be stored; Refused for what cannot be."""
    if not isinstance(sent, dict) or set(sent) != FIELDS:
        raise Refused(_(UNREADABLE))
    id, session_id, replaces = (_uuid(sent, name) for name in ("id", "session", "replaces"))
    kind, at = _text_of(sent, "kind"), moment(sent["at"])
    if id is None or session_id is None or kind not in Attendance.Kind.values or at is None:
        raise Refused(_(UNREADABLE))
    session = sessions_visible_to(actor).filter(pk=session_id).first()
    if session is None:
        raise Refused(_(NO_SESSION))
    if session.state == Session.State.CANCELLED:
        raise Refused(_(CANCELLED))
    content = digest({"by": str(actor.pk), "row": sent})
    return _Row(id, session, _person(sent, session), kind, at, replaces, content)


def _person(sent: Mapping[str, Any], session: Session) -> Person:
    named = sent["person"]
    if not isinstance(named, str) or not named.isascii() or not named.isdecimal():
        raise Refused(_(UNREADABLE))
    if len(named) > 18:
        raise Refused(_(NO_PLACE))
    places = Enrolment.objects.filter(run=session.run_id, person=int(named))
    place = places.exclude(state=Enrolment.State.WAITING).select_related("person").first()
    if place is None:
        raise Refused(_(NO_PLACE))
    return place.person


def _store(actor: Person, row: _Row, note: str, now: datetime) -> None:
    replaces = None
    if row.replaces is not None:
        replaces = Attendance.objects.filter(pk=row.replaces).first()
        if replaces is None:
            raise Refused(_("What this row takes back is not stored."))
        check_replaces(replaces, row.session, row.person)
    try:
        with transaction.atomic():
            Attendance.objects.create(
                id=row.id,
                session=row.session,
                person=row.person,
                kind=row.kind,
                how=Attendance.How.DEVICE,
                at=row.at,
                received_at=now,
                by=actor,
                note=note,
                content_digest=row.content,
                replaces=replaces,
            )
    except IntegrityError:  # another device was faster with this id, or with taking it back
        raise Refused(_(CLASH)) from None


def _keep(actor: Person, sent: Any, sentence: str) -> None:
    """Keep a refused row in the log, once; its session is the subject where it names one."""
    data = {"row": _shortened(sent), "sentence": sentence}
    data["digest"] = digest({"by": str(actor.pk), **data})
    if LogEntry.objects.filter(verb=KEPT, actor=actor, data__digest=data["digest"]).exists():
        return
    session = _session_named(actor, sent)
    write_log(actor=actor, verb=KEPT, subject=session or actor, data=data)


def _session_named(actor: Person, sent: Any) -> Session | None:
    """Return the session that a refused row names, where the actor may know of it."""
    try:
        named = _uuid(sent, "session") if isinstance(sent, dict) else None
    except Refused:
        return None
    return sessions_visible_to(actor).filter(pk=named).first() if named else None


def _shortened(sent: Any) -> Any:
    """Return the fields of a row as texts that the log can hold, each cut to a length."""
    if not isinstance(sent, dict):
        return _plain(sent)
    known = sorted(FIELDS & set(sent))
    return {name: _plain(sent[name]) for name in known}


def _plain(value: Any) -> str:
    text = value if isinstance(value, str) else repr(value)
    return "".join(each if each.isprintable() else "�" for each in text[:LONGEST])


def _text_of(sent: Any, name: str) -> str | None:
    found = sent.get(name) if isinstance(sent, dict) else None
    return found if isinstance(found, str) and 0 < len(found) <= 80 and found.isascii() else None


def _uuid(sent: Mapping[str, Any], name: str) -> uuid.UUID | None:
    text = _text_of(sent, name)
    if text is None:
        if sent.get(name) is None:
            return None
        raise Refused(_(UNREADABLE))
    try:
        return uuid.UUID(text)
    except ValueError:
        raise Refused(_(UNREADABLE)) from None


def moment(text: object) -> datetime | None:
    """Return the aware moment that an ISO 8601 text with an offset means; None for any other."""
    if not isinstance(text, str) or not text.isascii() or len(text) > 80:
        return None
    try:
        found = datetime.fromisoformat(text)
        return None if found.utcoffset() is None else found.astimezone(UTC)
    except (ValueError, OverflowError):
        return None
