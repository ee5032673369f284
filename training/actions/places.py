"""Rooms and scaffold bays of a site."""

from dataclasses import dataclass

from django.db import IntegrityError, transaction
from django.utils.translation import gettext as _

from training.actions.constraints import violated
from training.actions.log import write_log
from training.actions.permission import require_lead
from training.errors import Refused
from training.models import Person, Place, Site


@dataclass(frozen=True)
class Spot:
    """What is known of a place; ``capacity`` is how many fit, None when nobody counted."""

    kind: str
    name: str
    grid: str = ""
    capacity: int | None = None


def add_place(*, actor: Person, site: Site, spot: Spot) -> Place:
    """Save and return a place of ``site``.

    Raises PermissionDenied for anyone but a lead, Refused at the field for an unknown kind, a
    name that is missing or taken, and a capacity below one.
    """
    require_lead(actor, site.provider)
    return _save(actor, Place(site=site), spot, "place.added")


def change_place(*, actor: Person, place: Place, spot: Spot) -> Place:
    """Replace what is known of ``place``; raises as ``add_place`` does."""
    require_lead(actor, place.site.provider)
    return _save(actor, place, spot, "place.changed")


def _save(actor: Person, place: Place, spot: Spot, verb: str) -> Place:
    if spot.kind not in Place.Kind.values:
        raise Refused(_("Choose a room or a scaffold bay."), field="kind")
    name = " ".join(spot.name.split())
    if not name:
        raise Refused(_("Write what the place is called on site."), field="name")
    if spot.capacity is not None and spot.capacity < 1:
        raise Refused(_("Write how many fit, at least 1, or nothing."), field="capacity")
    place.kind, place.name = spot.kind, name
    place.grid, place.capacity = " ".join(spot.grid.split()), spot.capacity
    data = {"kind": place.kind, "name": name, "grid": place.grid, "capacity": place.capacity}
    try:
        with transaction.atomic():
            place.save()
            write_log(actor=actor, verb=verb, subject=place, data=data)
    except IntegrityError as error:
        if violated(error) == "place_name_once_a_site":
            taken = _("{site} has a place called {name} already: choose another name.").format(
                site=place.site, name=name
            )
            raise Refused(taken, field="name") from error
        raise
    return place
