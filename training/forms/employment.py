"""What a manager writes in an offer, and the last day of an employment."""

from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _l

from training.forms.runs import NOTHING_CHOSEN, day_field
from training.models import Employment, Organisation, Person
from training.queries.scope import contractor_organisations


class OfferForm(forms.Form):
    """An offer of employment; the contractor is asked for only where there are several."""

    organisation = forms.ModelChoiceField(
        Organisation.objects.none(),
        label=_l("Contractor"),
        error_messages={"required": NOTHING_CHOSEN},
    )
    email = forms.CharField(
        label=_l("E-mail address"),
        max_length=254,
        widget=forms.EmailInput(attrs={"autocomplete": "off"}),
        help_text=_l("The person's own: the offer goes there, and only the person answers it."),
        error_messages={"required": _l("Write the person's e-mail address.")},
    )
    full_name = forms.CharField(
        label=_l("Full name"),
        max_length=200,
        widget=forms.TextInput(attrs={"autocomplete": "off"}),
        help_text=_l(
            "As it should stand on records. Somebody who is known here by this address "
            "keeps the name known."
        ),
        error_messages={"required": _l("Write the person's full name.")},
    )
    since = day_field(_l("First day"), _l("At most 31 days ago, at most a year ahead."))

    def __init__(self, *args: Any, manager: Person, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        managed = list(contractor_organisations(manager))
        self.only = managed[0] if len(managed) == 1 else None
        if self.only:
            del self.fields["organisation"]
            return
        field = self.fields["organisation"]
        assert isinstance(field, forms.ModelChoiceField)
        field.queryset = contractor_organisations(manager)

    def clean(self) -> dict[str, Any]:
        """Add the contractor where there is but one."""
        found: dict[str, Any] = super().clean() or {}
        return {**found, "organisation": self.only} if self.only else found


class EndForm(forms.Form):
    """The last day of an employment."""

    until = day_field(_l("Last day"), _l("Records are seen up to and on this day."))

    def __init__(self, *args: Any, employment: Employment, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["until"].widget.attrs["min"] = employment.since.isoformat()


class NotBegunForm(forms.Form):
    """Nothing to write: an employment that has not begun is called off as it is."""


class AnswerForm(forms.Form):
    """What the person answers; ``seen`` tells which employments the page showed."""

    answer = forms.ChoiceField(
        choices=[("accept", _l("Accept")), ("decline", _l("Decline"))],
        error_messages={
            "required": _l("Press one of the two buttons."),
            "invalid_choice": _l("Press one of the two buttons."),
        },
    )
    seen = forms.CharField(required=False, max_length=200, widget=forms.HiddenInput)
