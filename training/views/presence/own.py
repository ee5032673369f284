"""Signing in to a session by the own phone, and what a trainee sees of a run."""

import uuid

from django.core.exceptions import PermissionDenied
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop as N_
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods

from training.actions.attendance import check_open, sign_in
from training.actions.attendance_code import code_of
from training.actions.questions import ask_question
from training.errors import Refused
from training.forms.presence import AskForm, CodeForm
from training.models import Attendance, CourseRun, Enrolment, Person, SignInCode
from training.queries.calendar import sessions_visible_to
from training.queries.hours import hours_of
from training.queries.questions import questions_for
from training.queries.runs import own_enrolments
from training.queries.stays import GRACE, presence_of
from training.site_time import zone_of
from training.views.refusals import act
from training.views.sent import sent
from training.views.who import person_of

UNKNOWN = N_("There is no such code. Look at the wall again: it changes every few minutes.")


@require_http_methods(["GET", "HEAD", "POST"])
def presence_code(request: HttpRequest) -> HttpResponse:
    """Take the code on the wall as it is typed."""
    person = person_of(request)
    form = CodeForm(sent(request))
    if request.method == "POST" and form.is_valid():
        code = code_of(form.cleaned_data["code"])
        if code is not None and _may_know(person, code):
            return redirect("presence_sign_in", code.token)
        form.add_error("code", _(UNKNOWN))
    enrolments = own_enrolments(person).filter(state=Enrolment.State.ENROLLED)
    return render(
        request,
        "training/presence/code.html",
        {"form": form, "enrolments": enrolments},
        status=422 if form.errors else 200,
    )


@never_cache
@require_http_methods(["GET", "HEAD", "POST"])
def presence_sign_in(request: HttpRequest, token: str) -> HttpResponse:
    """Say what is noted of the person in this session; POST {kind} notes that they came or left."""
    person = person_of(request)
    code = code_of(token)
    if code is None or not _may_know(person, code):
        raise Http404
    if not _enrolled(person, code):
        raise PermissionDenied(_("Only those enrolled on the run sign in."))
    refusal = ""
    if request.method == "POST":
        try:
            sign_in(actor=person, code=code, kind=request.POST.get("kind", ""))
            return redirect("presence_sign_in", code.token)
        except Refused as refused:
            refusal = refused.message
    return render(
        request,
        "training/presence/sign_in.html",
        {**_state(person, code), "refusal": refusal},
        status=422 if refusal else 200,
    )


@require_http_methods(["GET", "HEAD", "POST"])
def my_course(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    """Show a trainee the own hours on a run, and its questions; POST asks one."""
    person = person_of(request)
    own = Enrolment.objects.filter(person=person).select_related("run__program", "run__site")
    enrolment = get_object_or_404(own, pk=pk)
    run = enrolment.run
    form = AskForm(sent(request), run=run)
    if request.method == "POST" and form.is_valid():
        question = act(form, ask_question, actor=person, run=run, **form.cleaned_data)
        if question is not None:
            return redirect("my_course", enrolment.pk)
    context = {
        "enrolment": enrolment,
        "run": run,
        "zone": run.site.time_zone,
        "form": form,
        "questions": questions_for(person, run),
        "grace": round(GRACE.total_seconds() / 60),
        **_own_hours(person, run),
    }
    status = 422 if form.errors else 200
    return render(request, "training/presence/my_course.html", context, status=status)


def _own_hours(person: Person, run: CourseRun) -> dict[str, object]:
    """Return the rows of each session, and (module, attended, missing) minutes, of one person."""
    hours = hours_of(run)
    own = hours.of(person.pk)
    return {
        "rows": [
            (session, row)
            for session, presences in hours.sessions.items()
            for row in presences
            if row.person.pk == person.pk
        ],
        "modules": [
            (module, own.by_module[module.pk], max(0, module.minutes - own.by_module[module.pk]))
            for module in hours.modules
        ]
        if own
        else [],
    }


def _may_know(person: Person, code: SignInCode) -> bool:
    """Say whether a code exists for this person: of the run, or who teaches it."""
    return (
        _enrolled(person, code) or sessions_visible_to(person).filter(pk=code.session_id).exists()
    )


def _enrolled(person: Person, code: SignInCode) -> bool:
    places = code.session.run.enrolments.filter(person=person)
    return places.filter(state=Enrolment.State.ENROLLED).exists()


def _state(person: Person, code: SignInCode) -> dict[str, object]:
    session, now = code.session, timezone.now()
    rows = Attendance.objects.filter(session=session, person=person, replaced_by__isnull=True)
    row = presence_of(session, person, rows.select_related("by"), now=now)
    closed = ""
    try:
        check_open(session, now)
        if code.valid_until <= now:
            closed = _("This code has ended. Scan the one that is shown now, or type it.")
    except Refused as refused:
        closed = refused.message
    enrolment = session.run.enrolments.get(person=person)
    return {
        "code": code,
        "session": session,
        "zone": zone_of(session.run.site).key,
        "row": row,
        "inside": row.came_at is not None and row.left_at is None,
        "closed": closed,
        "enrolment": enrolment,
        "grace": round(GRACE.total_seconds() / 60),
    }
