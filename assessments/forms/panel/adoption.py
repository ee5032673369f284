"""Adopting a panel's recommendation."""

from typing import Any

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy as _l

from assessments.actions.panel.adoption import MINIMUM

SHARE = {"autocomplete": "off", "inputmode": "text"}


class AdoptForm(forms.Form):
    """Cut, band, minima of the outcomes, critical criteria, and why.

    Shares are read by the action, so that what was typed stays as it was typed. ``document`` is
    the program document.
    """

    cut = forms.CharField(
        label=_l("Cut"),
        max_length=40,
        widget=forms.TextInput(attrs=SHARE),
        help_text=_l("The overall score from which the standard is met, such as 70 %."),
        error_messages={"required": _l("Write a percentage such as 70 %.")},
    )
    band = forms.CharField(
        label=_l("Band around the cut"),
        max_length=40,
        required=False,
        widget=forms.TextInput(attrs=SHARE),
        help_text=_l(
            "A score this close to the cut is looked at by a second assessor. The panel's "
            "standard error suggests it; leave it empty for none."
        ),
    )

    def __init__(self, *args: Any, document: dict[str, Any], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        rule = document["pass_rule"]
        for outcome in document["outcomes"]:
            self.fields[f"{MINIMUM}{outcome['key']}"] = forms.CharField(
                label=_("Minimum of outcome {key}").format(key=outcome["key"]),
                max_length=40,
                required=False,
                widget=forms.TextInput(attrs=SHARE),
                help_text=(
                    _("{statement}. Leave it empty for no minimum.")
                    if rule["outcome_minima"]
                    else _(
                        "{statement}. Leave it empty for no minimum. The pass rule asks for no "
                        "minima."
                    )
                ).format(statement=outcome["statement"].rstrip(".")),
            )
        self.fields["critical"] = forms.MultipleChoiceField(
            label=_("Critical criteria"),
            required=False,
            widget=forms.CheckboxSelectMultiple,
            choices=[(row["key"], row["title"]) for row in document["task"]["criteria"]],
            help_text=_("Each must be met, whatever the overall score.")
            if rule["critical"]
            else _("The pass rule of this program does not ask for them: marks have no effect."),
            error_messages={
                "invalid_choice": _("The task has no criterion %(value)s: choose here.")
            },
        )
        self.fields["reason"] = forms.CharField(
            label=_("Reason"),
            required=False,
            widget=forms.Textarea(attrs={"rows": 4}),
            help_text=_(
                "Needed where the cut differs from the recommendation. It is sealed with "
                "the standard and stands in every record: name nobody."
            ),
        )

    def minima(self) -> dict[str, str]:
        """Return what was typed for each outcome, by its key."""
        return {
            name.removeprefix(MINIMUM): value
            for name, value in self.cleaned_data.items()
            if name.startswith(MINIMUM)
        }
