"""Projects: finding, making, changing and copying one."""

from typing import Any
from zoneinfo import available_timezones

from django import forms
from django.db.models import QuerySet
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy as _l

from certificates.models import Project
from certificates.queries.projects import PHASES
from training.forms.runs import NOTHING_CHOSEN, day_field
from training.models import Organisation, Person
from training.queries.scope import contractor_organisations, owner_organisations


class ProjectFilter(forms.Form):
    """Which of the projects to list."""

    text = forms.CharField(label=_l("Name, place or firm"), required=False, max_length=200)
    phase = forms.ChoiceField(
        label=_l("When"),
        required=False,
        choices=[("", _l("All")), *((phase, _l(told)) for phase, told in PHASES)],
    )


class ProjectForm(forms.Form):
    """A project; ``person`` says which contractors and owners can be chosen."""

    contractor = forms.ModelChoiceField(
        Organisation.objects.none(),
        label=_l("Contractor"),
        help_text=_l("Its crew fills the posts. Its manager sees this project."),
        error_messages={"required": NOTHING_CHOSEN},
    )
    owner = forms.ModelChoiceField(
        Organisation.objects.none(),
        label=_l("Owner"),
        required=False,
        help_text=_l(
            "The building's owner, if known here. Its representative sees this project and "
            "its posts; of the crew, only what is submitted."
        ),
    )
    name = forms.CharField(
        label=_l("Name"),
        max_length=200,
        error_messages={"required": _l("Write what the project is called.")},
    )
    place = forms.CharField(
        label=_l("Place"),
        max_length=300,
        required=False,
        help_text=_l("Where the work is: the building, its address."),
    )
    starts_on = day_field(_l("First day"))
    ends_on = day_field(_l("Last day"), _l("The last day of work; it belongs to the project."))
    time_zone = forms.ChoiceField(
        label=_l("Time zone"),
        help_text=_l("It says which day it is at the project."),
        error_messages={"required": NOTHING_CHOSEN},
    )
    field_order = ("name", "place", "contractor", "owner", "starts_on", "ends_on", "time_zone")

    def __init__(self, *args: Any, person: Person, default_zone: str, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.person = person
        kept, owned = contractor_organisations(person), owner_organisations(person)
        self.kept, self.owned = set(kept), set(owned)
        everyone = Organisation.objects.order_by("name")
        contractors = everyone.filter(kind=Organisation.Kind.CONTRACTOR)
        owners = everyone.filter(kind=Organisation.Kind.OWNER)
        _choices(self, "contractor", contractors if self.owned else kept)
        _choices(self, "owner", owners if self.kept else owned)
        if len(self.kept) == 1 and not self.owned:
            self.initial.setdefault("contractor", next(iter(self.kept)))
        if len(self.owned) == 1 and not self.kept:
            self.initial.setdefault("owner", next(iter(self.owned)))
        self.fields["owner"].required = not self.kept
        self.fields["owner"].error_messages["required"] = NOTHING_CHOSEN
        zones = self.fields["time_zone"]
        assert isinstance(zones, forms.ChoiceField)
        zones.choices = [(name, name) for name in sorted(available_timezones())]
        self.initial.setdefault("time_zone", default_zone)

    def clean(self) -> dict[str, Any]:
        """Refuse another contractor's project for another owner than one's own."""
        values = super().clean() or {}
        contractor = values.get("contractor")
        others = contractor and contractor not in self.kept and "owner" in values
        if others and values["owner"] not in self.owned:
            self.add_error(
                "owner",
                _(
                    "You do not manage the crew of {contractor}: choose an owner that you "
                    "represent, or your own firm as contractor."
                ).format(contractor=contractor),
            )
        return values


class ProjectChangeForm(ProjectForm):
    """What a project says; its contractor stays."""

    def __init__(self, *args: Any, project: Project, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        del self.fields["contractor"]
        owners = Organisation.objects.filter(kind=Organisation.Kind.OWNER).order_by("name")
        if project.contractor in self.kept:
            _choices(self, "owner", owners)
        else:
            _choices(self, "owner", owners.filter(owned_projects=project))
            self.fields["owner"].help_text = _("The contractor's manager may change it.")


class ProjectCopyForm(ProjectChangeForm):
    """A new project from an earlier one; its last day follows from the first."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        del self.fields["ends_on"]
        self.fields["starts_on"].help_text = _(
            "Every post is moved by as many days as this is from the first day of the project "
            "copied; so is the last day."
        )


def _choices(form: forms.Form, name: str, queryset: QuerySet[Organisation]) -> None:
    field = form.fields[name]
    assert isinstance(field, forms.ModelChoiceField)
    field.queryset = queryset
