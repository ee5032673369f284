"""A room or scaffold bay of a site, and how many a run holds."""

from typing import Any

from django import forms
from django.utils.text import format_lazy
from django.utils.translation import gettext_lazy as _l

from training.actions.places import Spot
from training.actions.waiting import MOST
from training.models import Place

COUNT_ERRORS = {
    "invalid": _l("Write a whole number, or nothing."),
    "min_value": _l("Write at least 1, or nothing."),
    "max_value": format_lazy(_l("Write at most {most}, or nothing."), most=f"{MOST:,}"),
}


class PlaceForm(forms.Form):
    """One place."""

    kind = forms.ChoiceField(
        label=_l("Kind"),
        choices=Place.Kind.choices,
        error_messages={"invalid_choice": _l("Choose one of the two.")},
    )
    name = forms.CharField(
        label=_l("Name"),
        max_length=100,
        help_text=_l("As it is called on site, e.g. Bay 3."),
        error_messages={"required": _l("Write what the place is called on site.")},
    )
    grid = forms.CharField(
        label=_l("Grid reference"),
        max_length=40,
        required=False,
        help_text=_l("Where a bay is on the elevation, as the drawings name it."),
    )
    capacity = forms.IntegerField(
        label=_l("How many fit"),
        min_value=1,
        max_value=MOST,
        required=False,
        help_text=_l(
            "For a scaffold bay, people: what it carries is for the scaffold's own tag and "
            "the competent person on site to say."
        ),
        error_messages=COUNT_ERRORS,
    )

    def spot(self) -> Spot:
        """Return what was written."""
        return Spot(**self.cleaned_data)


def initial_of_place(place: Place) -> dict[str, Any]:
    """Return what a form for ``place`` starts from."""
    return {name: getattr(place, name) for name in ("kind", "name", "grid", "capacity")}


class CapacityForm(forms.Form):
    """How many trainees a run holds."""

    capacity = forms.IntegerField(
        label=_l("Places"),
        min_value=1,
        max_value=MOST,
        required=False,
        help_text=_l("Whoever is enrolled beyond it goes on the waiting list. Empty: no limit."),
        error_messages=COUNT_ERRORS,
    )
