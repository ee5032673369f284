"""Confirming a seal."""

from django import forms


class SealForm(forms.Form):
    """That the draft was read."""

    read = forms.BooleanField(
        label="I have read this draft. Once it is sealed, nobody can change it; a change is a new "
        "standard.",
        error_messages={"required": "Read the draft below, then tick this."},
    )
