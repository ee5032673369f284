"""Mixing a batch of mortar, and curing."""

from typing import TYPE_CHECKING, Any

from django import forms
from django.utils.text import format_lazy
from django.utils.translation import gettext_lazy as _l

from training.models import CourseRun, MortarBatch

if TYPE_CHECKING:
    from django_stubs_ext import StrOrPromise

MINUTE = "%Y-%m-%dT%H:%M"
WHOLE = _l("Write a whole number.")


def moment_field(label: "StrOrPromise", help_text: "StrOrPromise" = "") -> forms.DateTimeField:
    """Return a field for a day and time of the site's clock."""
    return forms.DateTimeField(
        label=label,
        help_text=help_text,
        input_formats=[MINUTE, f"{MINUTE}:%S"],
        widget=forms.DateTimeInput(format=MINUTE, attrs={"type": "datetime-local"}),
        error_messages={
            "required": _l("Choose the day and the time."),
            "invalid": _l("Choose a day and a time that the site’s clock shows."),
        },
    )


def number_field(
    label: "StrOrPromise", required: "StrOrPromise", help_text: "StrOrPromise"
) -> forms.IntegerField:
    """Return a field for a whole number above zero; the action says which are too large."""
    return forms.IntegerField(
        label=label,
        help_text=help_text,
        min_value=1,
        max_value=1_000_000,
        error_messages={
            "required": required,
            "invalid": WHOLE,
            "min_value": WHOLE,
            "max_value": _l("This number is too large: check it."),
        },
    )


def words_field(
    label: "StrOrPromise", most: int, required: "StrOrPromise", help_text: "StrOrPromise" = ""
) -> forms.CharField:
    """Return a field for a line of words."""
    return forms.CharField(
        label=label,
        max_length=most,
        help_text=help_text,
        error_messages={
            "required": required,
            "max_length": format_lazy(
                _l("{most} characters at most: write it shorter."), most=most
            ),
        },
    )


class BatchForm(forms.Form):
    """A batch of mortar or grout."""

    label = words_field(
        _l("Label"), 40, _l("Give the batch a label that is written on its bucket, such as B1.")
    )
    mix = words_field(
        _l("Mix"),
        300,
        _l("Write what was mixed, and in which parts."),
        _l("What and in which parts, such as: lime putty and sharp sand 1 to 3 by volume."),
    )
    mixed_at = moment_field(_l("Mixed at"), _l("By the site’s clock."))
    working_minutes = number_field(
        _l("Working life in minutes"),
        _l("Write for how many minutes it may be worked, as the data sheet tells it."),
        _l("From the supplier’s data sheet, for the temperature of the day."),
    )
    source = words_field(
        _l("Source of the working life"),
        300,
        _l("Name the data sheet that the working life comes from."),
        _l("The data sheet with its number or date."),
    )


class CuringForm(forms.Form):
    """A repair that begins to cure, on one run."""

    what = words_field(
        _l("What cures"), 200, _l("Write what cures, such as the bedding of a dutchman.")
    )
    grid = words_field(
        _l("Where on the elevation"),
        40,
        _l("Write where on the elevation it is, such as C4."),
        _l("The grid reference, such as C4, or a few words."),
    )
    batch = forms.ModelChoiceField(
        MortarBatch.objects.none(),
        required=False,
        label=_l("Batch"),
        empty_label=_l("None of this run"),
        error_messages={"invalid_choice": _l("Choose a batch of this run, or none.")},
    )
    protection = words_field(
        _l("Protection"), 200, _l("Write how it is protected, such as damp hessian under a sheet.")
    )
    started_at = moment_field(_l("Cures since"), _l("By the site’s clock."))
    hours = number_field(
        _l("Hours asked for"),
        _l("Write for how many hours the protection stays on."),
        _l("From the data sheet or the specification, for the temperature of the wall."),
    )
    source = words_field(
        _l("Source of the hours"),
        300,
        _l("Name what asks for so many hours: data sheet or specification."),
    )

    def __init__(self, *args: Any, run: CourseRun, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        field = self.fields["batch"]
        assert isinstance(field, forms.ModelChoiceField)
        field.queryset = MortarBatch.objects.filter(run=run).order_by("-mixed_at", "pk")


class EndCuringForm(forms.Form):
    """That the protection came off."""

    at = moment_field(_l("When it came off"), _l("By the site’s clock."))
    early = forms.BooleanField(
        label=_l("I know that this is before the hours asked for are over"), required=False
    )
