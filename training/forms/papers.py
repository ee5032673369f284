"""A paper that a person shows, and taking one back."""

import uuid
from typing import Any

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy as _l
from django.utils.translation import gettext_noop as N_

from training.actions.documents import LARGEST
from training.errors import Refused
from training.forms.runs import NOTHING_CHOSEN, day_field
from training.models import Organisation
from training.queries.papers import INSTRUCTOR, INSTRUCTOR_TITLE, kinds_of
from training.scans import Scan, read_scan

FILE_HELP = _l(
    "Not needed: to look at the paper is enough. One JPEG or PNG image, or a PDF; 20 MB at most. "
    "Of an image the picture is kept, and not where the camera says that it was taken."
)
HELD = N_("The file that you sent is kept: choose one only to put it in its place.")


class PaperForm(forms.Form):
    """What stands on a paper; ``held``: whether a file sent with this form before is kept."""

    document = forms.UUIDField(
        widget=forms.HiddenInput,
        error_messages={
            "required": _l("Open this page anew and enter the paper there."),
            "invalid": _l("Open this page anew and enter the paper there."),
        },
    )
    kind = forms.ChoiceField(label=_l("What it shows"), error_messages={"required": NOTHING_CHOSEN})
    title = forms.CharField(
        label=_l("What the paper is called"),
        max_length=200,
        error_messages={"required": _l("Write what the paper is called.")},
    )
    issuer = forms.CharField(
        label=_l("Who issued it"),
        max_length=200,
        error_messages={"required": _l("Write who issued the paper.")},
    )
    number = forms.CharField(label=_l("Its number, if it has one"), max_length=100, required=False)
    issued_on = day_field(_l("Issued on"))
    expires_on = day_field(
        _l("Last day on which it holds"), _l("Leave it out where the paper names none.")
    )
    file = forms.FileField(
        label=_l("Photograph or scan"),
        required=False,
        help_text=FILE_HELP,
        widget=forms.FileInput(attrs={"accept": ".jpg,.jpeg,.png,.pdf"}),
        error_messages={"empty": _l("This file is empty: send the photograph or scan once more.")},
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
        kind.choices = [("", _("Choose")), *kinds_of(provider).items()]
        if instructors:
            kind.choices = [*kind.choices, (INSTRUCTOR, _(INSTRUCTOR_TITLE))]
        if held:
            self.say_held()

    def say_held(self) -> None:
        """Say at the field that a file is held, so that none need be sent."""
        # Once the form was checked, the page shows the field as it was before.
        self.fields["file"].help_text = self["file"].help_text = _(HELD)

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
        label=_l("Why it counts no longer"),
        max_length=500,
        widget=forms.Textarea(attrs={"rows": 3}),
        help_text=_l("The paper and this reason stay on the page: nothing is deleted."),
        error_messages={"required": _l("Write why the paper counts no longer.")},
    )
