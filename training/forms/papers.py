"""A paper that a person shows, and taking one back."""

import uuid
from typing import Any

from django import forms

from training.actions.documents import LARGEST
from training.errors import Refused
from training.forms.runs import NOTHING_CHOSEN, day_field
from training.models import Organisation
from training.queries.papers import INSTRUCTOR, INSTRUCTOR_TITLE, kinds_of
from training.scans import Scan, read_scan

FILE_HELP = (
    "Not needed: to look at the paper is enough. One JPEG or PNG image, or a PDF; 20 MB at most. "
    "Of an image the picture is kept, and not where the camera says that it was taken."
)
HELD = "The file that you sent is kept: choose one only to put it in its place."


class PaperForm(forms.Form):
    """What stands on a paper; ``held``: whether a file sent with this form before is kept."""

    document = forms.UUIDField(
        widget=forms.HiddenInput,
        error_messages={
            "required": "Open this page anew and enter the paper there.",
            "invalid": "Open this page anew and enter the paper there.",
        },
    )
    kind = forms.ChoiceField(label="What it shows", error_messages={"required": NOTHING_CHOSEN})
    title = forms.CharField(
        label="What the paper is called",
        max_length=200,
        error_messages={"required": "Write what the paper is called."},
    )
    issuer = forms.CharField(
        label="Who issued it",
        max_length=200,
        error_messages={"required": "Write who issued the paper."},
    )
    number = forms.CharField(label="Its number, if it has one", max_length=100, required=False)
    issued_on = day_field("Issued on")
    expires_on = day_field("Last day on which it holds", "Leave it out where the paper names none.")
    file = forms.FileField(
        label="Photograph or scan",
        required=False,
        help_text=FILE_HELP,
        widget=forms.FileInput(attrs={"accept": ".jpg,.jpeg,.png,.pdf"}),
        error_messages={"empty": "This file is empty: send the photograph or scan once more."},
    )

    def __init__(
        self,
        *args: Any,
        provider: Organisation,
        instructors: bool,
        held: bool = False,
        **kwargs: Any,
    ) -> None:
        super().__init__(*args, **kwargs)
        self.initial.setdefault("document", uuid.uuid4())
        self.fields["expires_on"].required = False
        kind = self.fields["kind"]
        assert isinstance(kind, forms.ChoiceField)
        kind.choices = [("", "Choose"), *kinds_of(provider).items()]
        if instructors:
            kind.choices = [*kind.choices, (INSTRUCTOR, INSTRUCTOR_TITLE)]
        if held:
            self.say_held()

    def say_held(self) -> None:
        """Say at the field that a file is held, so that none need be sent."""
        # Once the form was checked, the page shows the field as it was before.
        self.fields["file"].help_text = self["file"].help_text = HELD

    def clean_file(self) -> Scan | None:
        """Return the scan; None where none was sent now."""
        file = self.cleaned_data["file"]
        try:
            return read_scan(file, most=LARGEST) if file else None
        except Refused as refused:
            raise forms.ValidationError(refused.message) from None


class TakeBackForm(forms.Form):
    """Why a paper counts no longer."""

    reason = forms.CharField(
        label="Why it counts no longer",
        max_length=500,
        widget=forms.Textarea(attrs={"rows": 3}),
        help_text="The paper and this reason stay on the page: nothing is deleted.",
        error_messages={"required": "Write why the paper counts no longer."},
    )
