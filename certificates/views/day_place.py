"""Choosing who is at a post on a day."""

import uuid
from datetime import date
from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import ngettext
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods

from certificates.actions.days import place_people, room
from certificates.forms.days import PlaceForm
from certificates.models import Post
from certificates.queries.crew_days import today_at
from certificates.queries.day_reasons import crew_on
from certificates.queries.days import choices
from certificates.views.days import address_of, asked_day, kept_project
from training.models import Person
from training.views.refusals import act
from training.views.sent import sent
from training.views.who import person_of

SHOWN = 200  # people on one page; a search by name finds the others


@require_http_methods(["GET", "HEAD", "POST"])
@never_cache
def day_place(request: HttpRequest, pk: uuid.UUID, post: uuid.UUID) -> HttpResponse:
    """Choose people for a post; ``?day=`` names the day, ``?leads=1`` asks for its leads."""
    actor = person_of(request)
    project = kept_project(actor, pk)
    posts = Post.objects.select_related("project__contractor", "program", "lead_program")
    row = get_object_or_404(posts, pk=post, project=project)
    day, leads = asked_day(request, project), request.GET.get("leads") == "1"
    form = PlaceForm(sent(request), crew=crew_on(project, day))
    if form.is_valid():
        placed = act(
            form,
            place_people,
            actor=actor,
            project=project,
            post=row,
            day=day,
            people=list(form.cleaned_data["people"]),
            leads=leads,
            knowing={person.pk for person in form.cleaned_data["knowing"]},
        )
        if placed is not None:
            told = ngettext(
                "{count} person is placed at {code}.",
                "{count} people are placed at {code}.",
                len(placed),
            )
            messages.success(request, told.format(count=len(placed), code=row.code))
            return redirect(address_of(project, day))
    context = _context(request, row, day, form, leads=leads)
    status = 422 if form.errors else 200
    return render(request, "certificates/crew/days/place.html", context, status=status)


def _context(
    request: HttpRequest, post: Post, day: date, form: PlaceForm, *, leads: bool
) -> dict[str, Any]:
    asked = request.GET.get("name", "").replace("\0", "")  # no text in the database has that
    text = " ".join(asked.split())[:200]
    chosen = form.chosen("people") | form.chosen("knowing")
    crew = crew_on(post.project, day).order_by("full_name", "pk")
    found = crew.filter(full_name__icontains=text) if text else crew
    people: list[Person] = list(found)
    if chosen:
        known = {each.pk for each in people}
        people += [each for each in crew.filter(pk__in=chosen) if each.pk not in known]
    rows = choices(post, day, leads=leads, people=people)
    shown = [each for at, each in enumerate(rows) if at < SHOWN or each.person.pk in chosen]
    return {
        "project": post.project,
        "post": post,
        "day": day,
        "leads": leads,
        "form": form,
        "people": form.chosen("people"),
        "knowing": form.chosen("knowing"),
        "rows": shown,
        "hidden": len(rows) - len(shown),
        "name": text,
        "free": room(post, day, leads=leads),
        "over": day < today_at(post.project),
        "list_url": address_of(post.project, day),
    }
