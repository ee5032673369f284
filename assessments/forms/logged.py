"""Writing and correcting a note of the site log, and saying what it shows."""

import uuid
from collections.abc import Sequence
from decimal import ROUND_HALF_EVEN, Decimal
from fractions import Fraction
from typing import Any

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy as _l
from django.utils.translation import gettext_noop as N_

from assessments.engine.errors import EngineError
from assessments.engine.numbers import to_fraction
from assessments.engine.quantities import parse_quantity
from assessments.engine.units import UNITS
from training.actions.sitelog import NoteFacts
from training.forms.sitelog import moment_field
from training.said import said

UNIT_TOO = N_("Write the unit, too: 12 °C or 54 °F.")
FACTS = ("at", "text", "stage_key", "grid", "weather", "air_celsius", "wall_celsius")


class TemperatureField(forms.CharField):
    """A temperature typed with its unit; gives °C as a Decimal with one place, or None."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(required=False, max_length=40, **kwargs)
        self.widget.attrs["inputmode"] = "text"

    def clean(self, value: Any) -> Decimal | None:
        """Return the temperature in °C; the unit is asked for, since both are in use."""
        text = super().clean(value)
        if not text:
            return None
        if text[-1:].isdigit():
            raise forms.ValidationError(_(UNIT_TOO))
        try:
            found = parse_quantity(text, "degC")
        except EngineError as error:
            raise forms.ValidationError(f"{said(str(error))} {_(UNIT_TOO)}") from None
        return tenth(to_fraction(UNITS["degC"].from_base(found.base)))


def tenth(value: Fraction) -> Decimal:
    """Return an exact number to one decimal place; halves go to the even digit.

    >>> tenth(Fraction(110, 9))
    Decimal('12.2')
    """
    exact = Decimal(value.numerator) / Decimal(value.denominator)
    return exact.quantize(Decimal("0.1"), rounding=ROUND_HALF_EVEN)


class NoteForm(forms.Form):
    """What a note says; ``stages`` are (key, title) of the task."""

    note = forms.UUIDField(widget=forms.HiddenInput)
    text = forms.CharField(
        label=_l("What was seen or done"),
        required=False,
        max_length=10_000,
        widget=forms.Textarea(attrs={"rows": 4}),
    )
    stage_key = forms.ChoiceField(label=_l("Stage"), required=False)
    grid = forms.CharField(
        label=_l("Where on the elevation"),
        required=False,
        max_length=40,
        help_text=_l("The grid reference, such as C4, or a few words."),
    )
    at = moment_field(_l("When"), _l("The moment that the note is about, by the site’s clock."))
    weather = forms.CharField(
        label=_l("Weather"),
        required=False,
        max_length=100,
        help_text=_l("Such as: dry, light wind from the west."),
    )
    air_celsius = TemperatureField(
        label=_l("Temperature of the air"), help_text=_l("Such as 12 °C.")
    )
    wall_celsius = TemperatureField(
        label=_l("Temperature of the wall"),
        help_text=_l("Such as 54 °F: mortar cures by the wall’s."),
    )

    def __init__(self, *args: Any, stages: Sequence[tuple[str, str]], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.initial.setdefault("note", uuid.uuid4())
        field = self.fields["stage_key"]
        assert isinstance(field, forms.ChoiceField)
        field.choices = [("", _("No stage")), *stages]

    def facts(self) -> NoteFacts:
        """Return what was written; only of a valid form."""
        return NoteFacts(**{name: self.cleaned_data[name] for name in FACTS})


class PhotographsForm(forms.Form):
    """More photographs of a note: the id of the form; rows are training.forms.photo_rows."""

    note = forms.UUIDField(widget=forms.HiddenInput)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.initial.setdefault("note", uuid.uuid4())


class ShowsForm(forms.Form):
    """What a note shows of one attempt; ``subjects`` are ("kind:key", title)."""

    subjects = forms.MultipleChoiceField(
        label=_l("It shows something of"),
        widget=forms.CheckboxSelectMultiple,
        error_messages={
            "required": _l("Choose at least one criterion or hold point."),
            "invalid_choice": _l("The standard of this attempt has no such subject: choose again."),
        },
    )

    def __init__(self, *args: Any, subjects: Sequence[tuple[str, str]], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        field = self.fields["subjects"]
        assert isinstance(field, forms.MultipleChoiceField)
        field.choices = list(subjects)

    def chosen(self) -> list[tuple[str, str]]:
        """Return (kind, key) of what was chosen; only of a valid form."""
        pairs = (each.partition(":") for each in self.cleaned_data["subjects"])
        return [(kind, key) for kind, _unused, key in pairs]
