"""Writing down what somebody agreed to, and erasing a person."""

from django import forms

from training.forms.runs import NOTHING_CHOSEN
from training.models import Consent


class NoteForm(forms.Form):
    """What was said, and how."""

    kind = forms.ChoiceField(
        label="What about",
        choices=Consent.Kind.choices,
        error_messages={"required": NOTHING_CHOSEN},
    )
    given = forms.ChoiceField(
        label="The answer",
        choices=[("give", "Agrees"), ("refuse", "Refuses, or takes it back")],
        widget=forms.RadioSelect,
        error_messages={"required": NOTHING_CHOSEN},
    )
    how = forms.ChoiceField(
        label="How it was said",
        choices=[("paper", "Signed on paper"), ("device", "On my device, by the person")],
        widget=forms.RadioSelect,
        error_messages={"required": NOTHING_CHOSEN},
        help_text="Keep a signed paper: it is not stored here.",
    )


class EraseForm(forms.Form):
    """What has to be typed before a person is erased."""

    typed_name = forms.CharField(
        label="The person's full name, typed again",
        max_length=200,
        widget=forms.TextInput(attrs={"autocomplete": "off"}),
        error_messages={"required": "Write the person's name exactly as it stands here."},
    )
    reason = forms.CharField(
        label="Why",
        max_length=500,
        widget=forms.Textarea(attrs={"rows": 3}),
        help_text="It stays, so write it without name and address.",
        error_messages={"required": "Write why."},
    )
    in_writing = forms.BooleanField(
        label="The person asked for it in writing, also for the records that hold",
        required=False,
    )
