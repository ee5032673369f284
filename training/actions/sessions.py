"""Planning the sessions of a run: adding, changing, cancelling, and who teaches."""

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta

from django.db import IntegrityError, transaction
from django.utils.translation import gettext as _

from training.actions.constraints import violated
from training.actions.invitations import tell_cancelled, tell_planned
from training.actions.log import write_log
from training.actions.permission import require_lead
from training.dates import day_text
from training.errors import Refused
from training.models import CourseRun, Module, Person, Place, Session, SessionInstructor
from training.queries.calendar import is_published
from training.queries.clashes import instructor_taken, place_taken
from training.site_time import day_limits

LONGEST = timedelta(hours=24)  # a longer session is a mistyped day
LONGEST_TITLE = 200


@dataclass(frozen=True)
class Plan:
    """What is planned of a session; ``starts_at`` and ``ends_at`` are instants."""

    title: str
    starts_at: datetime
    ends_at: datetime
    module: Module | None = None
    place: Place | None = None
    instructors: tuple[Person, ...] = ()


def add_session(*, actor: Person, run: CourseRun, plan: Plan) -> Session:
    """Save and return a session of ``run``; a published calendar tells it to who takes part.

    Raises PermissionDenied for anyone but a lead; Refused at the field for a closed run, times
    outside the run's days, a place or instructor taken then, and what belongs elsewhere.
    """
    return add_sessions(actor=actor, run=run, plans=[plan])[0]


@transaction.atomic
def add_sessions(*, actor: Person, run: CourseRun, plans: Sequence[Plan]) -> list[Session]:
    """Save and return all of ``plans`` or none; see ``add_session``.

    The Refused of the plan at fault names it by its position as ``Refused.row``, from 0.
    """
    require_lead(actor, run.program.provider)
    run = lock_run(run)
    _lock([person for plan in plans for person in plan.instructors], [p.place for p in plans])
    made = []
    for number, plan in enumerate(plans):
        with _of_row(number):
            made.append(_add(run, plan))
    tell_planned(run, made)
    for session in made:
        write_log(actor=actor, verb="session.added", subject=session, data=_data(session))
    return made


@transaction.atomic
def change_session(*, actor: Person, session: Session, plan: Plan) -> Session:
    """Replace what is planned of ``session``; nothing is written when nothing differs.

    A published calendar tells the change (and the cancellation to an instructor who is off it).
    Raises as ``add_session`` does, and Refused for a cancelled session.
    """
    require_lead(actor, session.run.program.provider)
    run = lock_run(session.run)
    session = _lock_session(session, run)
    before = [each.person for each in session.teaching.select_related("person")]
    old = _data(session)
    _lock([*before, *plan.instructors], [session.place, plan.place])
    _check(run, plan)
    with _clashes(run, plan, session):
        SessionInstructor.objects.filter(session=session).exclude(
            person__in=plan.instructors
        ).delete()
        _fill(session, plan)
        session.save()
        _teach(session, [person for person in plan.instructors if person not in before])
    if _data(session) == old:
        return session
    _tell_change(run, session, [person for person in before if person not in plan.instructors])
    write_log(actor=actor, verb="session.changed", subject=session, data=_data(session))
    return session


@transaction.atomic
def set_instructors(*, actor: Person, session: Session, instructors: Sequence[Person]) -> Session:
    """Let exactly ``instructors`` teach ``session``, as it is now; see ``change_session``."""
    require_lead(actor, session.run.program.provider)
    now = _lock_session(session, lock_run(session.run))
    plan = Plan(
        title=now.title,
        starts_at=now.starts_at,
        ends_at=now.ends_at,
        module=now.module,
        place=now.place,
        instructors=tuple(instructors),
    )
    return change_session(actor=actor, session=now, plan=plan)


@transaction.atomic
def cancel_session(*, actor: Person, session: Session) -> Session:
    """Cancel a session: its place and instructors are free then; who was invited is told.

    Raises PermissionDenied for anyone but a lead; Refused for a closed run, a session cancelled
    already, and one at which somebody's presence is noted.
    """
    require_lead(actor, session.run.program.provider)
    run = lock_run(session.run)
    session = _lock_session(session, run)
    if session.attendance.exists():
        raise Refused(_("Somebody's presence is noted at this session: it was held and stays."))
    session.state = Session.State.CANCELLED
    published = is_published(run)
    if published:
        session.sequence += 1
    session.save(update_fields=["state", "sequence"])
    if published:
        tell_cancelled(run, [session])
    write_log(actor=actor, verb="session.cancelled", subject=session)
    return session


def lock_run(run: CourseRun) -> CourseRun:
    """Return ``run`` with its site, locked until the transaction ends; Refused if it is closed."""
    locked = (
        CourseRun.objects.select_for_update(of=("self",), no_key=True)
        .select_related("program__provider", "site")
        .get(pk=run.pk)
    )
    if locked.state == CourseRun.State.CLOSED:
        raise Refused(_("This run is closed. Open it again to change its calendar."))
    return locked


def _lock_session(session: Session, run: CourseRun) -> Session:
    locked = (
        Session.objects.select_for_update(of=("self",), no_key=True)
        .select_related("module", "place")
        .get(pk=session.pk)
    )
    locked.run = run
    if locked.state == Session.State.CANCELLED:
        raise Refused(_("This session is cancelled. Plan another one instead."))
    return locked


def _lock(people: Sequence[Person], places: Sequence[Place | None]) -> None:
    """Queue with everybody who plans the same people and places.

    Exclusion constraints alone would let two writers wait for each other until the database
    ends one of them; in this order nobody does.
    """
    keys = {person.pk for person in people}
    list(Person.objects.select_for_update(no_key=True).filter(pk__in=keys).order_by("pk"))
    taken = {place.pk for place in places if place is not None}
    list(Place.objects.select_for_update(no_key=True).filter(pk__in=taken).order_by("pk"))


def _add(run: CourseRun, plan: Plan) -> Session:
    _check(run, plan)
    session = Session(run=run)
    _fill(session, plan)
    with _clashes(run, plan, session):
        session.save(force_insert=True)
        _teach(session, plan.instructors)
    return session


def _fill(session: Session, plan: Plan) -> None:
    session.title = " ".join(plan.title.split())
    session.module = plan.module
    session.place = plan.place
    session.starts_at = plan.starts_at
    session.ends_at = plan.ends_at


def _teach(session: Session, people: Sequence[Person]) -> None:
    for person in people:
        SessionInstructor.objects.create(
            session=session, person=person, starts_at=session.starts_at, ends_at=session.ends_at
        )


def _check(run: CourseRun, plan: Plan) -> None:
    title = " ".join(plan.title.split())
    if not title or len(title) > LONGEST_TITLE:
        raise Refused(
            _("Write a title of at most {longest_title} characters.").format(
                longest_title=LONGEST_TITLE
            ),
            field="title",
        )
    _check_times(run, plan)
    if plan.module is not None and plan.module.program_id != run.program_id:
        raise Refused(
            _("{module} is of another program.").format(module=plan.module), field="module"
        )
    if plan.place is not None and plan.place.site_id != run.site_id:
        raise Refused(
            _("{place} is not at {site}.").format(place=plan.place, site=run.site), field="place"
        )
    teaching = set(run.instructors.values_list("pk", flat=True))
    for person in plan.instructors:
        if person.pk not in teaching:
            raise Refused(
                _("{person} does not teach this run: add them to its instructors first.").format(
                    person=person
                ),
                field="instructors",
            )


def _check_times(run: CourseRun, plan: Plan) -> None:
    if plan.ends_at <= plan.starts_at:
        raise Refused(_("The end is not after the start: change one of them."), field="ends")
    if plan.ends_at - plan.starts_at > LONGEST:
        raise Refused(_("This session would last more than 24 hours: check the end."), field="ends")
    first, last = day_limits(run)
    days = _("{starts_on} to {ends_on}").format(
        starts_on=day_text(run.starts_on), ends_on=day_text(run.ends_on)
    )
    if not first <= plan.starts_at < last:
        raise Refused(
            _("The run lasts from {days}: choose one of its days.").format(days=days), field="day"
        )
    if plan.ends_at > last:
        raise Refused(
            _("The run lasts from {days}: end before its last day is over.").format(days=days),
            field="ends",
        )


def _tell_change(run: CourseRun, session: Session, off: Sequence[Person]) -> None:
    if not is_published(run):
        return
    session.sequence += 1
    session.save(update_fields=["sequence"])
    tell_planned(run, [session], changed=True)
    if off:
        tell_cancelled(run, [session], people=off)


@contextmanager
def _clashes(run: CourseRun, plan: Plan, session: Session) -> Iterator[None]:
    """Say of what the database refuses who or what is taken, and when."""
    try:
        with transaction.atomic():
            yield
    except IntegrityError as error:
        rule = violated(error)
        if rule == "session_place_free":
            raise Refused(place_taken(run, plan.place, session), field="place") from error
        if rule == "session_instructor_free":
            message = instructor_taken(run, plan.instructors, session)
            raise Refused(message, field="instructors") from error
        raise


@contextmanager
def _of_row(number: int) -> Iterator[None]:
    try:
        yield
    except Refused as refused:
        raise RowRefused(number, refused) from refused


class RowRefused(Refused):
    """One of several plans was refused: ``row`` is its position, from 0."""

    def __init__(self, row: int, refused: Refused) -> None:
        super().__init__(refused.message, field=refused.field)
        self.row = row


def _data(session: Session) -> dict[str, object]:
    return {
        "run": str(session.run_id),
        "title": session.title,
        "module": session.module_id,
        "place": session.place_id,
        "starts_at": session.starts_at.astimezone(UTC).isoformat(),
        "ends_at": session.ends_at.astimezone(UTC).isoformat(),
        "instructors": sorted(session.teaching.values_list("person", flat=True)),
    }
