"""What is taken, and when: in the words that a refused plan is told with."""

from collections.abc import Sequence

from django.db.models import QuerySet
from django.utils.translation import gettext as _

from training.models import CourseRun, Person, Place, Session, SessionInstructor
from training.site_time import span, zone_of


def place_taken(run: CourseRun, place: Place | None, wanted: Session) -> str:
    """Return the sentence on the session that holds ``place`` while ``wanted`` would be."""
    found = _at_once(wanted).filter(place=place).first()
    if found is None:  # it went away between the refusal and this question
        return _(
            "{place} was taken at this time just now. Send it again, or choose another place."
        ).format(place=place)
    return _(
        "{place} is taken by {told}: choose another place or time, or move that session first."
    ).format(place=place, told=_told(run, found))


def instructor_taken(run: CourseRun, people: Sequence[Person], wanted: Session) -> str:
    """Return the sentence on who of ``people`` teaches elsewhere while ``wanted`` would be."""
    found = (
        SessionInstructor.objects.filter(person__in=people, session__in=_at_once(wanted))
        .select_related("person", "session__run__program", "session__place")
        .order_by("session__starts_at", "person__full_name")
        .first()
    )
    if found is None:
        return _("One of these instructors was taken at this time just now. Send it again.")
    return _(
        "{person} teaches {told}: choose another instructor or time, or move that session first."
    ).format(person=found.person, told=_told(run, found.session))


def _at_once(wanted: Session) -> QuerySet[Session]:
    return (
        Session.objects.filter(
            state=Session.State.PLANNED,
            starts_at__lt=wanted.ends_at,
            ends_at__gt=wanted.starts_at,
        )
        .exclude(pk=wanted.pk)
        .select_related("run__program", "place")
        .order_by("starts_at", "id")
    )


def _told(run: CourseRun, session: Session) -> str:
    """Return title and time by the clocks of the run's site; of another provider only the time."""
    when = span(session.starts_at, session.ends_at, zone_of(run.site))
    if session.run.program.provider_id != run.program.provider_id:
        return _("a session of another provider, {when}").format(when=when)
    told = f"“{session.title}”"
    if session.run_id != run.pk:
        told = _("{session} of {title}").format(session=told, title=session.run.program.title)
    if session.place:
        told = _("{session} in {place}").format(session=told, place=session.place)
    return f"{told}, {when}"
