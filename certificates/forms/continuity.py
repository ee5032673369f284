"""What a contractor's manager signs, and why something signed is taken back."""

from collections.abc import Sequence
from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _l
from django.utils.translation import gettext_noop as N_

from certificates.models import Project
from certificates.models.status import LONGEST_REASON
from training.forms.runs import day_field
from training.models import Organisation

TOO_LONG = N_("This has %(show_value)d characters: %(limit_value)d at most.")


class ProjectField(forms.ModelChoiceField):  # type: ignore[type-arg]
    """A choice among projects; what is no project's key is said as any other wrong choice."""

    def to_python(self, value: Any) -> Any:
        """Return the project, or raise for one that is not offered."""
        try:
            return super().to_python(value)
        except forms.ValidationError:
            raise forms.ValidationError(
                self.error_messages["invalid_choice"], code="invalid_choice"
            ) from None


class ConfirmForm(forms.Form):
    """The day, the place and the work that a confirmation is about."""

    worked_on = day_field(
        _l("Day on which the work was done"), _l("Today or before, at the record's site.")
    )
    project = ProjectField(
        Project.objects.none(),
        label=_l("Project"),
        required=False,
        empty_label=_l("Another place: write it below"),
        error_messages={"invalid_choice": _l("This project is not in the list any more.")},
    )
    project_name = forms.CharField(
        label=_l("Or the place of the work"),
        max_length=200,
        required=False,
        help_text=_l("Needed only where no project is chosen."),
        error_messages={"max_length": _l(TOO_LONG)},
    )
    work = forms.CharField(
        label=_l("What was done (optional)"),
        max_length=500,
        required=False,
        error_messages={"max_length": _l(TOO_LONG)},
    )

    def __init__(self, *args: Any, organisations: Sequence[Organisation], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        field = self.fields["project"]
        assert isinstance(field, forms.ModelChoiceField)
        field.queryset = Project.objects.filter(contractor__in=organisations)


class RetractForm(forms.Form):
    """Why a confirmation is taken back."""

    reason = forms.CharField(
        label=_l("Reason"),
        max_length=LONGEST_REASON,
        widget=forms.Textarea(attrs={"rows": 3}),
        help_text=_l("It stays with the confirmation; the holder reads it."),
        error_messages={
            "required": _l("Write why: it stays with the confirmation."),
            "max_length": _l(TOO_LONG),
        },
    )
