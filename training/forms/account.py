"""How a person wants to read."""

from django import forms
from django.utils.translation import gettext_lazy as _l

from training.models import Person


class ReadingForm(forms.Form):
    """Language and lengths."""

    language = forms.ChoiceField(
        label=_l("Language"),
        required=False,
        choices=[("", _l("As the browser asks for")), *Person.Language.choices],
        help_text=_l("Pages, e-mails and the way numbers and dates are written follow it."),
    )
    lengths = forms.ChoiceField(
        label=_l("Lengths"),
        required=False,
        choices=[("", _l("As they were taken")), *Person.Lengths.choices],
        help_text=_l(
            "What was taken in the other unit stands in brackets beside it: that is what counts."
        ),
    )
