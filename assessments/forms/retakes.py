"""What is asked when an attempt is made again: what of it, on which day, or why not then."""

from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from assessments.actions.retakes import LONGEST_PLACE, LONGEST_REASON, LONGEST_STANDS

OPEN, WHOLE = "open", "whole"


class StartRetakeForm(forms.Form):
    """What is made again; the choice is there only where some stages can stand."""

    scope = forms.ChoiceField(
        label=_("What is made again"),
        choices=((OPEN, _("Only the stages left open")), (WHOLE, _("The whole task"))),
        widget=forms.RadioSelect,
        error_messages={"required": _("Choose what is made again.")},
    )
    stands = forms.CharField(
        label=_("What you saw of the work that stays"),
        help_text=_(
            "Look at it before you start: is anything moved, hidden or damaged? If it does not "
            "stand any more, choose the whole task. Not needed for the whole task."
        ),
        required=False,
        max_length=LONGEST_STANDS,
        widget=forms.Textarea(attrs={"rows": 3}),
    )

    def __init__(self, *args: Any, whole: bool, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        if whole:
            del self.fields["scope"], self.fields["stands"]

    @property
    def whole(self) -> bool:
        """Whether the whole task is made again; only of a valid form."""
        return bool(self.cleaned_data.get("scope", WHOLE) == WHOLE)


class RetakeDayForm(forms.Form):
    """When and where."""

    day = forms.DateField(
        label=_("Day"),
        widget=forms.DateInput(format="%Y-%m-%d", attrs={"type": "date"}),
        input_formats=["%Y-%m-%d"],
        error_messages={
            "required": _("Choose a day."),
            "invalid": _("Choose a day that the calendar has."),
        },
    )
    place = forms.CharField(
        label=_("Place"),
        max_length=LONGEST_PLACE,
        error_messages={"required": _("Write where it is made again.")},
    )


class GiveUpDayForm(forms.Form):
    """Why the day is given up."""

    reason = forms.CharField(
        label=_("Why the day is given up"),
        help_text=_("The trainee reads it in the e-mail."),
        max_length=LONGEST_REASON,
        widget=forms.Textarea(attrs={"rows": 2}),
        error_messages={"required": _("Write why: the trainee reads it.")},
    )
