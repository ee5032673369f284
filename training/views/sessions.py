"""Planning one session: adding, changing and cancelling it."""

import uuid

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from training.actions.permission import require_lead
from training.actions.sessions import add_session, cancel_session, change_session
from training.forms.sessions import SessionForm, choices_of, initial_of
from training.models import CourseRun, Person, Session
from training.queries.calendar import is_published, sessions_visible_to, with_people
from training.views.refusals import act, act_or_say
from training.views.runs import visible_run
from training.views.sent import sent
from training.views.who import person_of


def led_run(request: HttpRequest, pk: uuid.UUID) -> tuple[Person, CourseRun]:
    """Return who asks and the run; Http404 when it is not visible, PermissionDenied to a reader."""
    person = person_of(request)
    run = visible_run(person, pk)
    require_lead(person, run.program.provider)
    return person, run


def led_session(request: HttpRequest, pk: uuid.UUID) -> tuple[Person, Session]:
    """Return who asks and the session with all that belongs to it; answers as ``led_run``."""
    person = person_of(request)
    visible = with_people(sessions_visible_to(person)).select_related(
        "run__program__provider", "run__site", "module", "place"
    )
    session = get_object_or_404(visible, pk=pk)
    require_lead(person, session.run.program.provider)
    return person, session


@require_http_methods(["GET", "HEAD", "POST"])
def session_new(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    """Add a session."""
    person, run = led_run(request, pk)
    initial = {"day": request.GET.get("day", run.starts_on)}
    form = SessionForm(sent(request), choices=choices_of(run), initial=initial)
    if request.method == "POST" and form.is_valid():
        made = act(form, lambda: add_session(actor=person, run=run, plan=form.plan()))
        if made is not None:
            messages.success(
                request, _("“{title}” is planned.{told}").format(title=made.title, told=_told(run))
            )
            return redirect("run_calendar", run.pk)
    context = {"form": form, "run": run, "published": is_published(run)}
    return _page(request, "session_new", context, form)


@require_http_methods(["GET", "HEAD", "POST"])
def session_edit(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    """Change a session."""
    person, session = led_session(request, pk)
    run = session.run
    form = SessionForm(sent(request), choices=choices_of(run), initial=initial_of(session))
    if request.method == "POST" and form.is_valid():
        done = act(form, lambda: change_session(actor=person, session=session, plan=form.plan()))
        if done is not None:
            messages.success(
                request, _("“{title}” is saved.{told}").format(title=done.title, told=_told(run))
            )
            return redirect("run_calendar", run.pk)
    context = {"form": form, "run": run, "session": session, "published": is_published(run)}
    return _page(request, "session_edit", context, form)


@require_http_methods(["GET", "HEAD", "POST"])
def session_cancel(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    """Ask once more, then cancel a session."""
    person, session = led_session(request, pk)
    run = session.run
    if request.method == "POST":
        if act_or_say(request, cancel_session, actor=person, session=session):
            messages.success(
                request,
                _("“{title}” is cancelled.{told}").format(title=session.title, told=_told(run)),
            )
        return redirect("run_calendar", run.pk)
    return render(
        request,
        "training/calendar/session_cancel.html",
        {
            "run": run,
            "session": session,
            "zone": run.site.time_zone,
            "published": is_published(run),
        },
    )


def _told(run: CourseRun) -> str:
    return " " + _("Everybody whom it concerns is told by e-mail.") if is_published(run) else ""


def _page(
    request: HttpRequest, name: str, context: dict[str, object], form: SessionForm
) -> HttpResponse:
    status = 422 if form.errors else 200
    return render(request, f"training/calendar/{name}.html", context, status=status)
