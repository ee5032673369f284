"""Which day to look at, and whom to place at a post."""

from typing import Any

from django import forms

from training.forms.runs import day_field
from training.models import Person

CHANGED = "This page was sent changed, or the crew changed meanwhile. Choose again."


class DayForm(forms.Form):
    """The day whose list is shown."""

    day = day_field("Day")


class PlaceForm(forms.Form):
    """Whom to place; ``knowing`` are those placed although they are not qualified there."""

    people = forms.ModelMultipleChoiceField(
        Person.objects.none(),
        label="Whom to place",
        error_messages={
            "required": "Choose whom to place.",
            "invalid_choice": "Somebody chosen is not on the crew on this day. Choose again.",
            "invalid_pk_value": CHANGED,
            "invalid_list": CHANGED,
        },
    )
    knowing = forms.ModelMultipleChoiceField(
        Person.objects.none(),
        required=False,
        label="Placed although not qualified",
        error_messages={
            "invalid_choice": CHANGED,
            "invalid_pk_value": CHANGED,
            "invalid_list": CHANGED,
        },
    )

    def __init__(self, *args: Any, crew: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for name in ("people", "knowing"):
            field = self.fields[name]
            assert isinstance(field, forms.ModelMultipleChoiceField)
            field.queryset = crew

    def chosen(self, name: str) -> set[int]:
        """Return the keys that were sent in a field, right or wrong; what is no key is left out."""
        values = self.data.getlist(name) if hasattr(self.data, "getlist") else []
        return {int(each) for each in values if each.isascii() and each.isdigit()}
