"""The number of a record, as people type it, and the file of one."""

from django import forms
from django.utils.text import format_lazy
from django.utils.translation import gettext_lazy as _l

from certificates.numbers import EXAMPLE, LONGEST_TYPED, read_number

TOO_LONG = format_lazy(
    _l("This is longer than any number of a record: it is like {example}."), example=EXAMPLE
)


class NumberForm(forms.Form):
    """Asks for the number; gives it back in the form of the paper."""

    number = forms.CharField(
        label=_l("Number of the record"),
        max_length=LONGEST_TYPED,
        help_text=format_lazy(
            _l("It stands on the record, such as {example}. Capitals and spaces do not matter."),
            example=EXAMPLE,
        ),
        widget=forms.TextInput(
            attrs={"autocomplete": "off", "autocapitalize": "characters", "spellcheck": "false"}
        ),
        error_messages={
            "required": format_lazy(
                _l("Write the number that stands on the record, such as {example}."),
                example=EXAMPLE,
            ),
            "max_length": TOO_LONG,
        },
    )

    def clean_number(self) -> str:
        """Return the number that was meant."""
        try:
            return read_number(self.cleaned_data["number"])
        except ValueError as error:
            raise forms.ValidationError(str(error)) from None


class FileForm(forms.Form):
    """Asks for the file, and for the number that it should have, if one is known."""

    file = forms.FileField(
        label=_l("PDF file of the record"),
        allow_empty_file=True,
        max_length=255,
        help_text=_l("As the issuer sent it: not a scan, a photograph or a printed copy."),
        widget=forms.FileInput(attrs={"accept": ".pdf,application/pdf"}),
        error_messages={
            "required": _l("Choose the PDF file of the record."),
            "invalid": _l("Choose the PDF file of the record."),
            "missing": _l("Choose the PDF file of the record."),
            "max_length": _l(
                "The name of this file is too long: give it a short one, then send it."
            ),
        },
    )
    number = forms.CharField(
        label=_l("Number that it should have"),
        required=False,
        max_length=LONGEST_TYPED,
        help_text=format_lazy(
            _l("Only if a number was given to you beside the file, such as {example}."),
            example=EXAMPLE,
        ),
        widget=forms.TextInput(
            attrs={"autocomplete": "off", "autocapitalize": "characters", "spellcheck": "false"}
        ),
        error_messages={"max_length": TOO_LONG},
    )

    def clean_number(self) -> str:
        """Return the number that was meant, or nothing."""
        typed = self.cleaned_data["number"]
        if not typed:
            return ""
        try:
            return read_number(typed)
        except ValueError as error:
            raise forms.ValidationError(str(error)) from None
