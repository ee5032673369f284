"""Writing down what somebody agreed to, and erasing a person."""

from django import forms
from django.utils.translation import gettext_lazy as _l

from training.forms.runs import NOTHING_CHOSEN
from training.models import Consent


class NoteForm(forms.Form):
    """What was said, and how."""

    kind = forms.ChoiceField(
        label=_l("What about"),
        choices=Consent.Kind.choices,
        error_messages={"required": NOTHING_CHOSEN},
    )
    given = forms.ChoiceField(
        label=_l("The answer"),
        choices=[("give", _l("Agrees")), ("refuse", _l("Refuses, or takes it back"))],
        widget=forms.RadioSelect,
        error_messages={"required": NOTHING_CHOSEN},
    )
    how = forms.ChoiceField(
        label=_l("How it was said"),
        choices=[("paper", _l("Signed on paper")), ("device", _l("On my device, by the person"))],
        widget=forms.RadioSelect,
        error_messages={"required": NOTHING_CHOSEN},
        help_text=_l("Keep a signed paper: it is not stored here."),
    )


class EraseForm(forms.Form):
    """What has to be typed before a person is erased."""

    typed_name = forms.CharField(
        label=_l("The person's full name, typed again"),
        max_length=200,
        widget=forms.TextInput(attrs={"autocomplete": "off"}),
        error_messages={"required": _l("Write the person's name exactly as it stands here.")},
    )
    reason = forms.CharField(
        label=_l("Why"),
        max_length=500,
        widget=forms.Textarea(attrs={"rows": 3}),
        help_text=_l("It stays, so write it without name and address."),
        error_messages={"required": _l("Write why.")},
    )
    in_writing = forms.BooleanField(
        label=_l("The person asked for it in writing, also for the records that hold"),
        required=False,
    )
