"""Answering what was set aside, and choosing the file that a device saved."""

from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _l

from assessments.actions.site.answers import LONGEST_NOTE
from assessments.actions.site.imports import MAX_BYTES, read_events_file
from training.errors import Refused


class AnswerForm(forms.Form):
    """Why an event is taken in or left out."""

    note = forms.CharField(
        label=_l("Why"),
        help_text=_l("Kept beside the event, for who asks later."),
        max_length=LONGEST_NOTE,
        widget=forms.Textarea(attrs={"rows": 3}),
        error_messages={"required": _l("Write why it is taken in or left out.")},
    )


class LossForm(forms.Form):
    """What was done about a loss."""

    note = forms.CharField(
        label=_l("What was done"),
        help_text=_l("Such as what was scored again, and by whom. Kept beside the loss."),
        max_length=LONGEST_NOTE,
        widget=forms.Textarea(attrs={"rows": 3}),
        error_messages={"required": _l("Write what was done about it.")},
    )


class EventsFileForm(forms.Form):
    """The file; ``document`` is what it holds once the form is valid."""

    file = forms.FileField(
        label=_l("File of the device"),
        allow_empty_file=True,
        help_text=_l("The JSON file that the scoring page saved; 5 MB at most."),
        error_messages={"required": _l("Choose the file that the scoring page saved.")},
    )
    document: dict[str, Any]

    def clean_file(self) -> Any:
        """Read the file."""
        upload = self.cleaned_data["file"]
        try:
            self.document = read_events_file(upload.read(MAX_BYTES + 1))
        except Refused as refused:
            raise forms.ValidationError(refused.message) from None
        return upload
