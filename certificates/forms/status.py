"""What a lead writes about a record's status."""

from typing import Any

from django import forms

from certificates.models.status import LONGEST_REASON


class ReasonForm(forms.Form):
    """The reason for a change; ``seen`` is how much had happened when the page was shown."""

    reason = forms.CharField(
        max_length=LONGEST_REASON,
        widget=forms.Textarea(attrs={"rows": 3}),
        help_text="It stays with the record; the holder reads it.",
        error_messages={
            "required": "Write why: it stays with the record.",
            "max_length": "This has %(show_value)d characters: %(limit_value)d at most.",
        },
    )
    seen = forms.IntegerField(
        widget=forms.HiddenInput,
        error_messages={
            "required": "This page was sent incompletely. Open it again.",
            "invalid": "This page was sent changed. Open it again.",
        },
    )

    def __init__(self, *args: Any, seen: int, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["seen"].initial = seen


class ProposeForm(ReasonForm):
    """The reason for a withdrawal, and whether the record is suspended while it waits."""

    suspend = forms.BooleanField(
        required=False,
        label="Suspend the record at once, until the second lead has answered",
    )
    field_order = ("reason", "suspend", "seen")


class AnswerForm(ReasonForm):
    """What the second lead answers; the note is needed to decline."""

    note = forms.CharField(
        required=False,
        max_length=LONGEST_REASON,
        label="Note",
        widget=forms.Textarea(attrs={"rows": 3}),
        help_text="Needed to decline. The leads read it; the holder too, where declining "
        "lifts a suspension.",
        error_messages={
            "max_length": "This has %(show_value)d characters: %(limit_value)d at most."
        },
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        del self.fields["reason"]
