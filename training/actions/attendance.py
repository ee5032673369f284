"""Noting who came, who left and who was not there: by the own phone, or at the desk.

Rows only grow. What was wrong is corrected by a row that names it, with a reason.
"""

import uuid
from collections.abc import Sequence
from datetime import UTC, datetime, timedelta

from django.core.exceptions import PermissionDenied
from django.db import transaction
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop as N_

from training.actions.log import write_log
from training.dates import moment_text
from training.errors import Refused
from training.models import Attendance, CourseRun, Enrolment, Person, Session, SignInCode
from training.queries.scope import runs_visible_to
from training.queries.stays import OPENS, Presence, presence_of
from training.site_time import zone_of

CANCELLED = N_("This session is cancelled: nobody's presence is noted.")
LONGEST_NOTE = 300


def require_noting(actor: Person, run: CourseRun) -> None:
    """Raise PermissionDenied unless ``actor`` leads or teaches ``run``."""
    if not runs_visible_to(actor).filter(pk=run.pk).exists():
        raise PermissionDenied(_("Only a lead or an instructor of the run notes who was there."))


@transaction.atomic
def sign_in(
    *,
    actor: Person,
    code: SignInCode,
    kind: str = Attendance.Kind.CAME,
    now: datetime | None = None,
) -> Attendance:
    """Note that ``actor`` came or left, by the code on the wall; return the row that says so.

    Pressing twice notes it once. Raises Refused for a code that has ended, outside of the hours
    in which the session takes sign-ins, for a cancelled session, and for anybody who is not
    enrolled on its run; for *left* before having come.
    """
    now = now or timezone.now()
    session = code.session
    if kind not in (Attendance.Kind.CAME, Attendance.Kind.LEFT):
        raise Refused(_("Choose whether you came or are leaving."))
    if code.valid_until <= now:
        raise Refused(_("This code has ended. Scan the one that is shown now, or type it."))
    check_open(session, now)
    _lock_place(session.run, actor)
    rows = Attendance.objects.filter(session=session, person=actor, replaced_by__isnull=True)
    last = presence_of(session, actor, rows, now=now)
    before = _said_before(last, kind)
    if before is not None:
        return before
    marked = next((row for row in last.rows if row.kind == Attendance.Kind.ABSENT), None)
    row = Attendance.objects.create(
        session=session,
        person=actor,
        kind=kind,
        how=Attendance.How.OWN_CODE,
        at=now,
        received_at=now,
        by=actor,
        replaces=marked,
        note="Signed in after having been marked as not there." if marked else "",
    )
    _log(actor, row)
    return row


def check_open(session: Session, now: datetime) -> None:
    """Raise Refused, saying when to sign in, unless ``session`` takes sign-ins at ``now``."""
    if session.state == Session.State.CANCELLED:
        raise Refused(_(CANCELLED))
    zone = zone_of(session.run.site)
    opens = session.starts_at - OPENS
    if now < opens:
        told = opens.astimezone(zone)
        raise Refused(
            _("Signing in begins on {told} ({key}).").format(told=moment_text(told), key=zone.key)
        )
    if now > session.ends_at:
        told = session.ends_at.astimezone(zone)
        raise Refused(
            _(
                "This session ended on {told} ({key}). Ask an instructor to note your presence."
            ).format(told=moment_text(told), key=zone.key)
        )


@transaction.atomic
def note_presence(
    *,
    actor: Person,
    session: Session,
    person: Person,
    kind: str,
    at: datetime,
    note: str = "",
    replaces: Attendance | None = None,
    id: uuid.UUID | None = None,
) -> Attendance:
    """Note at the desk how ``person`` was present, and return the row.

    ``at`` is aware. The same ``id`` again with the same content is noted once. Raises
    PermissionDenied for anybody but a lead or an instructor of the run; Refused for a cancelled
    session, a person without a place on the run, a time more than a day from the session, a
    correction without a reason, and what was corrected already.
    """
    require_noting(actor, session.run)
    if session.state == Session.State.CANCELLED:
        raise Refused(_(CANCELLED))
    place = _lock_place(session.run, person, withdrawn=True)
    note = " ".join(note.split())
    stored = Attendance.objects.filter(pk=id).first() if id else None
    if stored is not None:
        return _same(stored, session, person, kind, at, note, replaces)
    _check(session, kind, at, note)
    if replaces is not None:
        check_replaces(replaces, session, place.person)
        if not note:
            raise Refused(_("Write why it is corrected."), field="note")
    row = Attendance.objects.create(
        id=id or uuid.uuid4(),
        session=session,
        person=place.person,
        kind=kind,
        how=Attendance.How.DESK,
        at=at,
        by=actor,
        note=note,
        replaces=replaces,
    )
    _log(actor, row)
    return row


@transaction.atomic
def note_many(
    *, actor: Person, session: Session, people: Sequence[Person], kind: str, at: datetime
) -> list[Attendance]:
    """Note the same of several people, such as from a list on paper; all or none.

    Whoever is noted already is left as they are, so that pressing twice notes it once. Raises
    what ``note_presence`` does.
    """
    session = Session.objects.select_for_update(of=("self",), no_key=True).get(pk=session.pk)
    known = set(
        session.attendance.filter(replaced_by__isnull=True).values_list("person", flat=True)
    )
    return [
        note_presence(actor=actor, session=session, person=person, kind=kind, at=at)
        for person in people
        if person.pk not in known
    ]


def check_replaces(replaces: Attendance, session: Session, person: Person) -> None:
    """Raise Refused unless the row is of this session and person, and stands."""
    if replaces.session_id != session.pk or replaces.person_id != person.pk:
        raise Refused(_("What is corrected belongs to another session or person."))
    if Attendance.objects.filter(replaces=replaces).exists():
        raise Refused(_("Somebody corrected this meanwhile. Look at the session, then go on."))


def _said_before(last: Presence, kind: str) -> Attendance | None:
    """Return the row that says already what is pressed now; Refused to leave without coming."""
    if kind == Attendance.Kind.LEFT and last.came_at is None:
        raise Refused(_("You have not signed in to this session yet: sign in first."))
    inside = last.came_at is not None and last.left_at is None
    if inside != (kind == Attendance.Kind.CAME):
        return None
    return [row for row in last.rows if row.kind == kind][-1]


def _check(session: Session, kind: str, at: datetime, note: str) -> None:
    if kind not in Attendance.Kind.values:
        raise Refused(_("Choose came, left or was not there."), field="kind")
    day = timedelta(days=1)
    if not session.starts_at - day <= at <= session.ends_at + day:
        raise Refused(
            _("This is more than a day from the session: look at the day and the time."),
            field="day",
        )
    if at > timezone.now():
        raise Refused(_("This time is still to come: note it when it is so."), field="at")
    if len(note) > LONGEST_NOTE or "\0" in note:
        raise Refused(
            _("Keep the reason to {longest_note} characters of text.").format(
                longest_note=LONGEST_NOTE
            ),
            field="note",
        )


def _lock_place(run: CourseRun, person: Person, *, withdrawn: bool = False) -> Enrolment:
    """Return the person's place on the run, locked until the transaction ends, or raise Refused.

    So that two presses at once are noted one after the other.
    """
    states = [Enrolment.State.ENROLLED, *([Enrolment.State.WITHDRAWN] if withdrawn else [])]
    places = run.enrolments.select_for_update(of=("self",), no_key=True).select_related("person")
    place = places.filter(person=person, state__in=states).first()
    if place is None:
        raise Refused(
            _("{person} is not enrolled on this run. Ask a training lead.").format(person=person),
            field="person",
        )
    return place


def _same(
    stored: Attendance,
    session: Session,
    person: Person,
    kind: str,
    at: datetime,
    note: str,
    replaces: Attendance | None,
) -> Attendance:
    before = (stored.session_id, stored.person_id, stored.kind, stored.at, stored.note)
    now = (session.pk, person.pk, kind, at.astimezone(UTC), note)
    if before != now or stored.replaces_id != (replaces.pk if replaces else None):
        raise Refused(_("This form was sent before with other values. Open the session anew."))
    return stored


def _log(actor: Person, row: Attendance) -> None:
    write_log(
        actor=actor,
        verb=f"attendance.{row.kind}",
        subject=row,
        data={
            "session": str(row.session_id),
            "person": row.person_id,
            "at": row.at.astimezone(UTC).isoformat(),
            "how": row.how,
            "replaces": str(row.replaces_id) if row.replaces_id else None,
        },
    )
