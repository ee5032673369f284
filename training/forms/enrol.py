"""Enrolling people: one, or a list."""

from typing import Any

from django import forms

from training.enrolfile import UnreadableError, decode
from training.models import Organisation

MAXIMUM_BYTES = 1_000_000


class EnrolForm(forms.Form):
    """One trainee."""

    full_name = forms.CharField(
        label="Full name",
        max_length=200,
        help_text="As it should stand on a record.",
        error_messages={"required": "Write the person's full name."},
    )
    email = forms.CharField(
        label="E-mail address",
        max_length=254,
        help_text="A person known by this address is enrolled again, not made twice.",
        widget=forms.EmailInput,
        error_messages={"required": "Write the address that the person signs in with."},
    )
    employer = forms.ModelChoiceField(
        Organisation.objects.filter(kind=Organisation.Kind.CONTRACTOR),
        required=False,
        help_text="Its manager sees this person's results and records. May be left empty.",
    )


class EnrolFileForm(forms.Form):
    """A list of trainees, as a file or as text."""

    file = forms.FileField(
        label="CSV file",
        required=False,
        allow_empty_file=True,
        help_text="Columns full_name, email, employer; 1,000 rows or 1 MB at most.",
    )
    text = forms.CharField(
        label="Or the list as text",
        required=False,
        strip=False,
        widget=forms.Textarea(
            attrs={"rows": 12, "class": "code", "spellcheck": "false", "wrap": "off"}
        ),
    )
    good_only = forms.BooleanField(
        label="Enrol the rows that are right now, and leave the others here to correct",
        required=False,
    )
    guessed: str | None = None

    def clean(self) -> dict[str, Any]:
        """Put the file's text into ``text``; note in ``guessed`` when letters were guessed."""
        values = super().clean() or {}
        upload = values.get("file")
        if not upload:
            if "text" in values and not values["text"].strip():
                self.add_error("text", "Choose a file, or write the list here.")
            return values
        if upload.size > MAXIMUM_BYTES:
            self.add_error("file", f"This file has {upload.size:,} bytes: 1 MB at most. Split it.")
            return values
        if values.get("text", "").strip():
            self.add_error("file", "Send a file or the text below, not both: nothing was read.")
            return values
        try:
            decoded = decode(upload.read())
        except UnreadableError as error:
            self.add_error("file", str(error))
            return values
        values["text"] = decoded.text
        self.guessed = decoded.warning
        return values

    def shown_again(self, text: str) -> "EnrolFileForm":
        """Return a form that holds ``text`` to be corrected, without errors of its own."""
        form = EnrolFileForm(initial={"text": text})
        form.fields["text"].label = "The list, to correct"
        return form
