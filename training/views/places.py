"""Rooms and scaffold bays of a site."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_safe

from training.actions.permission import require_lead
from training.actions.places import add_place, change_place
from training.forms.places import PlaceForm, initial_of_place
from training.models import Person, Place, Site
from training.queries.calendar import sites_visible_to
from training.queries.scope import is_lead
from training.views.refusals import act
from training.views.sent import sent
from training.views.who import person_of


def _site(person: Person, pk: int) -> Site:
    return get_object_or_404(sites_visible_to(person).select_related("provider"), pk=pk)


@require_safe
def place_list(request: HttpRequest, pk: int) -> HttpResponse:
    """Show the places of a site."""
    person = person_of(request)
    site = _site(person, pk)
    return render(
        request,
        "training/calendar/place_list.html",
        {"site": site, "places": site.places.all(), "leads": is_lead(person, site.provider)},
    )


@require_http_methods(["GET", "HEAD", "POST"])
def place_new(request: HttpRequest, pk: int) -> HttpResponse:
    """Add a place."""
    person = person_of(request)
    site = _site(person, pk)
    require_lead(person, site.provider)
    form = PlaceForm(sent(request), initial={"kind": Place.Kind.BAY})
    if request.method == "POST" and form.is_valid():
        made = act(form, add_place, actor=person, site=site, spot=form.spot())
        if made is not None:
            messages.success(request, _("{made} is added.").format(made=made))
            return redirect("place_list", site.pk)
    return _page(request, site, form)


@require_http_methods(["GET", "HEAD", "POST"])
def place_edit(request: HttpRequest, pk: int) -> HttpResponse:
    """Change a place."""
    person = person_of(request)
    visible = Place.objects.filter(site__in=sites_visible_to(person).order_by().values("pk"))
    place = get_object_or_404(visible.select_related("site__provider"), pk=pk)
    require_lead(person, place.site.provider)
    name = place.name
    form = PlaceForm(sent(request), initial=initial_of_place(place))
    if request.method == "POST" and form.is_valid():
        changed = act(form, change_place, actor=person, place=place, spot=form.spot())
        if changed is not None:
            messages.success(request, _("{changed} is saved.").format(changed=changed))
            return redirect("place_list", place.site_id)
    return _page(request, place.site, form, name)


def _page(request: HttpRequest, site: Site, form: PlaceForm, name: str = "") -> HttpResponse:
    return render(
        request,
        "training/calendar/place.html",
        {"form": form, "site": site, "name": name},
        status=422 if form.errors else 200,
    )
