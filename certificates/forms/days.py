"""Which day to look at, and whom to place at a post."""

from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _l
from django.utils.translation import gettext_noop as N_

from training.forms.runs import day_field
from training.models import Person

CHANGED = N_("This page was sent changed, or the crew changed meanwhile. Choose again.")


class DayForm(forms.Form):
    """The day whose list is shown."""

    day = day_field(_l("Day"))


class PlaceForm(forms.Form):
    """Whom to place; ``knowing`` are those placed although they are not qualified there."""

    people = forms.ModelMultipleChoiceField(
        Person.objects.none(),
        label=_l("Whom to place"),
        error_messages={
            "required": _l("Choose whom to place."),
            "invalid_choice": _l("Somebody chosen is not on the crew on this day. Choose again."),
            "invalid_pk_value": _l(CHANGED),
            "invalid_list": _l(CHANGED),
        },
    )
    knowing = forms.ModelMultipleChoiceField(
        Person.objects.none(),
        required=False,
        label=_l("Placed although not qualified"),
        error_messages={
            "invalid_choice": _l(CHANGED),
            "invalid_pk_value": _l(CHANGED),
            "invalid_list": _l(CHANGED),
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
