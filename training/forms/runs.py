"""Planning a run, its site and who teaches it."""

from typing import TYPE_CHECKING, Any
from zoneinfo import available_timezones

from django import forms
from django.utils.translation import gettext_lazy as _l

from training.models import CourseRun, Organisation, Person, Program, Role, Site
from training.queries.scope import provider_organisations

if TYPE_CHECKING:
    from django_stubs_ext import StrOrPromise

NOTHING_CHOSEN = _l("Choose one from the list.")


def day_field(label: "StrOrPromise", help_text: "StrOrPromise" = "") -> forms.DateField:
    """Return a field for a day."""
    return forms.DateField(
        label=label,
        help_text=help_text,
        widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"),
        error_messages={
            "required": _l("Choose a day."),
            "invalid": _l("Write the day as year-month-day, e.g. 2026-11-02."),
        },
    )


class RunForm(forms.Form):
    """A new run, with the choices of one lead."""

    program = forms.ModelChoiceField(
        Program.objects.none(), label=_l("Program"), error_messages={"required": NOTHING_CHOSEN}
    )
    site = forms.ModelChoiceField(
        Site.objects.none(),
        label=_l("Site"),
        error_messages={"required": _l("Choose a site, or add one first.")},
    )
    starts_on = day_field(_l("First day"))
    ends_on = day_field(_l("Last day"))
    instructors = forms.ModelMultipleChoiceField(
        Person.objects.none(),
        label=_l("Instructors"),
        required=False,
        widget=forms.CheckboxSelectMultiple,
        help_text=_l("They teach the run and score its attempts. More can be added later."),
    )

    def __init__(self, *args: Any, lead: Person, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        led = provider_organisations(lead)
        _choices(self, "program", Program.objects.filter(provider__in=led))
        _choices(self, "site", Site.objects.filter(provider__in=led))
        _choices(self, "instructors", instructors_of(led))


class SiteForm(forms.Form):
    """A new site."""

    provider = forms.ModelChoiceField(
        Organisation.objects.none(),
        label=_l("Training provider"),
        error_messages={"required": NOTHING_CHOSEN},
    )
    name = forms.CharField(
        label=_l("Name"),
        max_length=200,
        error_messages={"required": _l("Write the name of the site.")},
    )
    address = forms.CharField(label=_l("Address"), max_length=300, required=False)
    owner = forms.ModelChoiceField(
        Organisation.objects.none(),
        label=_l("Owner"),
        required=False,
        help_text=_l("The building's owner, if known here."),
    )
    time_zone = forms.ChoiceField(
        label=_l("Time zone"),
        help_text=_l("Days and hours of what happens on the site are told in it."),
        error_messages={"required": NOTHING_CHOSEN},
    )

    def __init__(self, *args: Any, lead: Person, default_zone: str, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        led = provider_organisations(lead)
        _choices(self, "provider", led)
        self.initial.setdefault("provider", led.first())
        _choices(self, "owner", Organisation.objects.filter(kind=Organisation.Kind.OWNER))
        zones = self.fields["time_zone"]
        assert isinstance(zones, forms.ChoiceField)
        zones.choices = [(name, name) for name in sorted(available_timezones())]
        self.initial.setdefault("time_zone", default_zone)


class InstructorForm(forms.Form):
    """One more instructor for a run."""

    person = forms.ModelChoiceField(
        Person.objects.none(), label=_l("Instructor"), error_messages={"required": NOTHING_CHOSEN}
    )

    def __init__(self, *args: Any, run: CourseRun, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        provider = Organisation.objects.filter(pk=run.program.provider_id)
        teaching = run.instructors.values("pk")
        _choices(self, "person", instructors_of(provider).exclude(pk__in=teaching))


def instructors_of(providers: Any) -> Any:
    """Return the people who are instructors at any of ``providers``."""
    held = Role.objects.filter(kind=Role.Kind.INSTRUCTOR, organisation__in=providers)
    return Person.objects.filter(pk__in=held.values("person"))


def _choices(form: forms.Form, name: str, queryset: Any) -> None:
    field = form.fields[name]
    assert isinstance(field, forms.ModelChoiceField)
    field.queryset = queryset
