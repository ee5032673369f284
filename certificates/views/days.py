"""A day's list: who is on the scaffold at which post, kept by the contractor's manager."""

import uuid
from datetime import date, timedelta

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_POST, require_safe

from certificates.actions.days import remove_place
from certificates.actions.days_copy import Copied, copy_day
from certificates.forms.days import DayForm
from certificates.models import DayPlace, Project
from certificates.queries.crew_days import today_at
from certificates.queries.crew_scope import projects_kept_by, projects_visible_to
from certificates.queries.days import day_before, day_list
from certificates.wording import weekday
from training.models import Person
from training.views.refusals import act_or_say
from training.views.who import person_of

LEFT_OUT_TOLD = 8  # sentences on one page; of more only how many there are


@require_safe
@never_cache
def day_list_page(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    """Show who is at which post on a day: today unless another is asked for."""
    project = kept_project(person_of(request), pk)
    today = today_at(project)
    form = DayForm(request.GET if "day" in request.GET else None, initial={"day": today})
    day = form.cleaned_data["day"] if form.is_valid() else today
    context = {
        "project": project,
        "form": form,
        "list": day_list(project, day),
        "today": today,
        "over": day < today,
        "source": day_before(project, day),
        "before": neighbour(day, -1),
        "after": neighbour(day, 1),
    }
    status = 422 if form.errors else 200
    return render(request, "certificates/crew/days/list.html", context, status=status)


@require_POST
def day_copy(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    """Place on a day whoever was placed on the latest day before that has a list."""
    actor = person_of(request)
    project = kept_project(actor, pk)
    day = asked_day(request, project)
    source = day_before(project, day)
    copied = act_or_say(
        request, copy_day, actor=actor, project=project, day=day, source=source or day
    )
    if copied is not None:
        _tell(request, copied)
    return redirect(address_of(project, day))


@require_POST
def day_remove(request: HttpRequest, pk: int) -> HttpResponse:
    """Take somebody off a day's list."""
    actor = person_of(request)
    place = get_object_or_404(
        DayPlace.objects.select_related("project", "person").filter(
            project__in=projects_visible_to(actor).order_by()
        ),
        pk=pk,
    )
    act_or_say(request, _removed, request, actor, place)
    return redirect(address_of(place.project, place.day))


def kept_project(person: Person, pk: uuid.UUID) -> Project:
    """Return the project; Http404 for a stranger, PermissionDenied for the owner's side."""
    visible = projects_visible_to(person).select_related("contractor", "owner")
    project = get_object_or_404(visible, pk=pk)
    if not projects_kept_by(person).filter(pk=pk).exists():
        raise PermissionDenied(_("Only a manager of the contractor keeps the day lists."))
    return project


def asked_day(request: HttpRequest, project: Project) -> date:
    """Return the day named in the address, today without one; Http404 for what is no day."""
    if "day" not in request.GET:
        return today_at(project)
    form = DayForm(request.GET)
    if not form.is_valid():
        raise Http404(_("There is no such day."))
    day: date = form.cleaned_data["day"]
    return day


def address_of(project: Project, day: date) -> str:
    """Return the address of a day's list."""
    return f"{reverse('day_list', args=[project.pk])}?day={day.isoformat()}"


def neighbour(day: date, days: int) -> date | None:
    """Return the day so many days later; None beyond the ends of the calendar."""
    try:
        return day + timedelta(days=days)
    except OverflowError:
        return None


def _removed(request: HttpRequest, actor: Person, place: DayPlace) -> None:
    remove_place(actor=actor, place=place)
    messages.success(
        request,
        _("{person} is off the list; the badge no longer holds.").format(person=place.person),
    )


def _tell(request: HttpRequest, copied: Copied) -> None:
    placed = ngettext(
        "{count} person placed as on {day}.", "{count} people placed as on {day}.", copied.placed
    )
    messages.success(request, placed.format(count=copied.placed, day=weekday(copied.source)))
    for each in copied.left_out[:LEFT_OUT_TOLD]:
        messages.warning(
            request,
            _("Not placed: {person} at {code}. {why}").format(
                person=each.person, code=each.post.code, why=each.why
            ),
        )
    if len(copied.left_out) > LEFT_OUT_TOLD:
        more = len(copied.left_out) - LEFT_OUT_TOLD
        messages.warning(
            request,
            ngettext(
                "{count} more was not placed: place them by hand.",
                "{count} more were not placed: place them by hand.",
                more,
            ).format(count=more),
        )
