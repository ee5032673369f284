"""The number of a record, as people type it."""

from django import forms

from certificates.numbers import EXAMPLE, LONGEST_TYPED, read_number


class NumberForm(forms.Form):
    """Asks for the number; gives it back in the form of the paper."""

    number = forms.CharField(
        label="Number of the record",
        max_length=LONGEST_TYPED,
        help_text=f"It stands on the record, such as {EXAMPLE}. Capitals and spaces do not matter.",
        widget=forms.TextInput(
            attrs={"autocomplete": "off", "autocapitalize": "characters", "spellcheck": "false"}
        ),
        error_messages={
            "required": f"Write the number that stands on the record, such as {EXAMPLE}.",
            "max_length": f"This is longer than any number of a record: it is like {EXAMPLE}.",
        },
    )

    def clean_number(self) -> str:
        """Return the number that was meant."""
        try:
            return read_number(self.cleaned_data["number"])
        except ValueError as error:
            raise forms.ValidationError(str(error)) from None
