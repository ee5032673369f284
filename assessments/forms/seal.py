"""Confirming a seal."""

from django import forms
from django.utils.translation import gettext_lazy as _l


class SealForm(forms.Form):
    """That the draft was read."""

    read = forms.BooleanField(
        label=_l(
            "I have read this draft. Once it is sealed, nobody can change it; a change is a new "
            "standard."
        ),
        error_messages={"required": _l("Read the draft below, then tick this.")},
    )
