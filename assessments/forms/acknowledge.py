"""Acknowledging a result."""

from typing import Any

from django import forms
from django.conf import settings
from django.utils.translation import gettext_lazy as _l

from assessments.actions.acknowledge import LONGEST_COMMENT
from training.actions.pins import LONGEST


class AcknowledgeForm(forms.Form):
    """A comment, the decision that was shown and the language it was shown in.

    On somebody else's device (``asks_pin``) the trainee's PIN as well.
    """

    comment = forms.CharField(
        label=_l("Your comment"),
        required=False,
        max_length=LONGEST_COMMENT,
        widget=forms.Textarea(attrs={"rows": 3}),
        help_text=_l("May stay empty. The instructors of the run and the training lead read it."),
    )
    pin = forms.CharField(
        label=_l("Your PIN"),
        max_length=LONGEST,
        strip=True,
        widget=forms.PasswordInput(
            attrs={"inputmode": "numeric", "autocomplete": "off", "maxlength": LONGEST}
        ),
        help_text=_l("The digits you chose under My account. Nobody else should know them."),
    )
    decision = forms.UUIDField(widget=forms.HiddenInput)
    language = forms.ChoiceField(choices=settings.LANGUAGES, widget=forms.HiddenInput)

    def __init__(self, *args: Any, asks_pin: bool, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        if not asks_pin:
            del self.fields["pin"]
