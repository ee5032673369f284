"""Making people and organisations known."""

from typing import Any

from django import forms
from django.utils import timezone
from django.utils.translation import gettext_lazy as _l

from training.forms.runs import NOTHING_CHOSEN, day_field
from training.models import Organisation, Person, Role
from training.queries.scope import provider_organisations


class PersonForm(forms.Form):
    """A person and a role."""

    full_name = forms.CharField(
        label=_l("Full name"),
        max_length=200,
        error_messages={"required": _l("Write the person's full name.")},
    )
    email = forms.CharField(
        label=_l("E-mail address"),
        max_length=254,
        widget=forms.EmailInput,
        error_messages={"required": _l("Write the address that the person signs in with.")},
    )
    role = forms.ChoiceField(
        label=_l("Role"), choices=Role.Kind.choices, error_messages={"required": NOTHING_CHOSEN}
    )
    organisation = forms.ModelChoiceField(
        Organisation.objects.none(),
        label=_l("Organisation"),
        help_text=_l(
            "Your own for a lead or instructor; the contractor for its manager; the owner "
            "for whoever represents it."
        ),
        error_messages={"required": NOTHING_CHOSEN},
    )

    def __init__(self, *args: Any, lead: Person, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        field = self.fields["organisation"]
        assert isinstance(field, forms.ModelChoiceField)
        field.queryset = (
            provider_organisations(lead)
            | Organisation.objects.exclude(kind=Organisation.Kind.PROVIDER)
        ).order_by("kind", "name")


class OrganisationForm(forms.Form):
    """A contractor or a building's owner."""

    kind = forms.ChoiceField(
        label=_l("What it is"),
        choices=[
            (kind.value, kind.label)
            for kind in Organisation.Kind
            if kind != Organisation.Kind.PROVIDER
        ],
        error_messages={"required": NOTHING_CHOSEN},
    )
    name = forms.CharField(
        label=_l("Name"),
        max_length=200,
        error_messages={"required": _l("Write the organisation's name.")},
    )
    address = forms.CharField(label=_l("Address"), max_length=300, required=False)


class EmployerForm(forms.Form):
    """Who employs a person from which day."""

    employer = forms.ModelChoiceField(
        Organisation.objects.filter(kind=Organisation.Kind.CONTRACTOR),
        label=_l("Employer"),
        required=False,
        empty_label=_l("None that is known here"),
        help_text=_l(
            "Its manager sees this person's results and records from that day on; "
            "the former employer's no longer does."
        ),
    )
    since = day_field(_l("From"))

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.initial.setdefault("since", timezone.localdate())
