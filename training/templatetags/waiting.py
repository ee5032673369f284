"""The place in the row of who waits for a place on a run."""

from collections.abc import Mapping
from uuid import UUID

from django import template

from training.models import Enrolment

register = template.Library()


@register.filter
def place_of(places: Mapping[UUID, int], enrolment: Enrolment) -> int | None:
    """Return the place of ``enrolment`` among ``places``, as ``places_in_row`` gives them."""
    return places.get(enrolment.pk)
