"""What waits for a person about presence and questions, on the first page."""

from collections.abc import Iterable
from datetime import timedelta

from django.db.models import Count, Exists, OuterRef, Q
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from training.models import Attendance, CourseRun, Enrolment, Person, Role, Session
from training.queries.scope import TRAINEE, runs_visible_to
from training.queries.stays import OPENS
from training.queries.todo import Todo, todo_source
from training.site_time import span, zone_of


@todo_source
def questions_to_answer(person: Person, roles: frozenset[str]) -> Iterable[Todo]:
    """Tell leads and instructors of questions without an answer (one query)."""
    if not roles & {Role.Kind.LEAD, Role.Kind.INSTRUCTOR}:
        return
    runs = (
        runs_visible_to(person)
        .select_related("program", "site")
        .annotate(open=Count("questions", filter=Q(questions__answered_at__isnull=True)))
        .filter(open__gt=0)
        .order_by("starts_on", "id")
    )
    for run in runs:
        yield Todo(
            ngettext(
                "1 question waits for an answer",
                "{count} questions wait for an answer",
                run.open,
            ).format(count=run.open),
            f"{run.program.title}, {run.site}.",
            reverse("run_questions", args=[run.pk]),
            _("Answer"),
        )


@todo_source
def sessions_to_sign_in_to(person: Person, roles: frozenset[str]) -> Iterable[Todo]:
    """Tell a trainee of sessions that take sign-ins now (one query)."""
    if TRAINEE not in roles:
        return
    now = timezone.now()
    came = Attendance.objects.filter(session=OuterRef("pk"), person=person)
    sessions = (
        Session.objects.filter(
            ~Exists(came),
            run__in=Enrolment.objects.filter(person=person, state=Enrolment.State.ENROLLED).values(
                "run"
            ),
            state=Session.State.PLANNED,
            starts_at__lte=now + OPENS,
            ends_at__gt=now,
        )
        .select_related("run__site")
        .order_by("starts_at", "id")
    )
    for each in sessions:
        when = span(each.starts_at, each.ends_at, zone_of(each.run.site))
        yield Todo(
            _("Sign in to {title}").format(title=each.title),
            _("{site}, {when}. Scan the code on the wall, or type it.").format(
                site=each.run.site, when=when
            ),
            reverse("presence_code"),
            _("Type the code"),
        )


@todo_source
def presence_to_note(person: Person, roles: frozenset[str]) -> Iterable[Todo]:
    """Tell leads and instructors of sessions of two weeks at which nobody is noted."""
    if not roles & {Role.Kind.LEAD, Role.Kind.INSTRUCTOR}:
        return
    now = timezone.now()
    noted = Attendance.objects.filter(session=OuterRef("pk"))
    enrolled = Enrolment.objects.filter(run=OuterRef("run"), state=Enrolment.State.ENROLLED)
    runs = runs_visible_to(person).exclude(state=CourseRun.State.CLOSED).order_by().values("pk")
    sessions = (
        Session.objects.filter(
            ~Exists(noted),
            Exists(enrolled),
            run__in=runs,
            state=Session.State.PLANNED,
            ends_at__lte=now,
            ends_at__gt=now - timedelta(days=14),
        )
        .select_related("run__site")
        .order_by("starts_at", "id")
    )
    for each in sessions:
        when = span(each.starts_at, each.ends_at, zone_of(each.run.site))
        yield Todo(
            _("Note who was at {title}").format(title=each.title),
            _("{site}, {when}. Nobody is noted yet.").format(site=each.run.site, when=when),
            reverse("session_presence", args=[each.pk]),
            _("Note who was there"),
        )
