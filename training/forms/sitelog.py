"""Mixing a batch of mortar, and curing."""

from typing import Any

from django import forms

from training.models import CourseRun, MortarBatch

MINUTE = "%Y-%m-%dT%H:%M"
WHOLE = "Write a whole number."


def moment_field(label: str, help_text: str = "") -> forms.DateTimeField:
    """Return a field for a day and time of the site's clock."""
    return forms.DateTimeField(
        label=label,
        help_text=help_text,
        input_formats=[MINUTE, f"{MINUTE}:%S"],
        widget=forms.DateTimeInput(format=MINUTE, attrs={"type": "datetime-local"}),
        error_messages={
            "required": "Choose the day and the time.",
            "invalid": "Choose a day and a time that the site’s clock shows.",
        },
    )


def number_field(label: str, required: str, help_text: str) -> forms.IntegerField:
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
            "max_value": "This number is too large: check it.",
        },
    )


def words_field(label: str, most: int, required: str, help_text: str = "") -> forms.CharField:
    """Return a field for a line of words."""
    return forms.CharField(
        label=label,
        max_length=most,
        help_text=help_text,
        error_messages={
            "required": required,
            "max_length": f"{most} characters at most: write it shorter.",
        },
    )


class BatchForm(forms.Form):
    """A batch of mortar or grout."""

    label = words_field(
        "Label", 40, "Give the batch a label that is written on its bucket, such as B1."
    )
    mix = words_field(
        "Mix",
        300,
        "Write what was mixed, and in which parts.",
        "What and in which parts, such as: lime putty and sharp sand 1 to 3 by volume.",
    )
    mixed_at = moment_field("Mixed at", "By the site’s clock.")
    working_minutes = number_field(
        "Working life in minutes",
        "Write for how many minutes it may be worked, as the data sheet tells it.",
        "From the supplier’s data sheet, for the temperature of the day.",
    )
    source = words_field(
        "Source of the working life",
        300,
        "Name the data sheet that the working life comes from.",
        "The data sheet with its number or date.",
    )


class CuringForm(forms.Form):
    """A repair that begins to cure, on one run."""

    what = words_field("What cures", 200, "Write what cures, such as the bedding of a dutchman.")
    grid = words_field(
        "Where on the elevation",
        40,
        "Write where on the elevation it is, such as C4.",
        "The grid reference, such as C4, or a few words.",
    )
    batch = forms.ModelChoiceField(
        MortarBatch.objects.none(),
        required=False,
        label="Batch",
        empty_label="None of this run",
        error_messages={"invalid_choice": "Choose a batch of this run, or none."},
    )
    protection = words_field(
        "Protection", 200, "Write how it is protected, such as damp hessian under a sheet."
    )
    started_at = moment_field("Cures since", "By the site’s clock.")
    hours = number_field(
        "Hours asked for",
        "Write for how many hours the protection stays on.",
        "From the data sheet or the specification, for the temperature of the wall.",
    )
    source = words_field(
        "Source of the hours", 300, "Name what asks for so many hours: data sheet or specification."
    )

    def __init__(self, *args: Any, run: CourseRun, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        field = self.fields["batch"]
        assert isinstance(field, forms.ModelChoiceField)
        field.queryset = MortarBatch.objects.filter(run=run).order_by("-mixed_at", "pk")


class EndCuringForm(forms.Form):
    """That the protection came off."""

    at = moment_field("When it came off", "By the site’s clock.")
    early = forms.BooleanField(
        label="I know that this is before the hours asked for are over", required=False
    )
