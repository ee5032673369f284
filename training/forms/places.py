"""A room or scaffold bay of a site, and how many a run holds."""

from typing import Any

from django import forms

from training.actions.places import Spot
from training.actions.waiting import MOST
from training.models import Place

COUNT_ERRORS = {
    "invalid": "Write a whole number, or nothing.",
    "min_value": "Write at least 1, or nothing.",
    "max_value": f"Write at most {MOST:,}, or nothing.",
}


class PlaceForm(forms.Form):
    """One place."""

    kind = forms.ChoiceField(
        choices=Place.Kind.choices, error_messages={"invalid_choice": "Choose one of the two."}
    )
    name = forms.CharField(
        max_length=100,
        help_text="As it is called on site, e.g. Bay 3.",
        error_messages={"required": "Write what the place is called on site."},
    )
    grid = forms.CharField(
        label="Grid reference",
        max_length=40,
        required=False,
        help_text="Where a bay is on the elevation, as the drawings name it.",
    )
    capacity = forms.IntegerField(
        label="How many fit",
        min_value=1,
        max_value=MOST,
        required=False,
        help_text="For a scaffold bay, people: what it carries is for the scaffold's own tag and "
        "the competent person on site to say.",
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
        label="Places",
        min_value=1,
        max_value=MOST,
        required=False,
        help_text="Whoever is enrolled beyond it goes on the waiting list. Empty: no limit.",
        error_messages=COUNT_ERRORS,
    )
