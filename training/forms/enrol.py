"""Enrolling people: one, or a list."""

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy as _l

from training.forms.file_or_text import FileOrTextForm
from training.models import Organisation


class EnrolForm(forms.Form):
    """One trainee."""

    full_name = forms.CharField(
        label=_l("Full name"),
        max_length=200,
        help_text=_l("As it should stand on a record."),
        error_messages={"required": _l("Write the person's full name.")},
    )
    email = forms.CharField(
        label=_l("E-mail address"),
        max_length=254,
        help_text=_l("A person known by this address is enrolled again, not made twice."),
        widget=forms.EmailInput,
        error_messages={"required": _l("Write the address that the person signs in with.")},
    )
    employer = forms.ModelChoiceField(
        Organisation.objects.filter(kind=Organisation.Kind.CONTRACTOR),
        label=_l("Employer"),
        required=False,
        help_text=_l("Its manager sees this person's results and records. May be left empty."),
    )


class EnrolFileForm(FileOrTextForm):
    """A list of trainees, as a file or as text."""

    nothing = _l("Choose a file, or write the list here.")

    file = forms.FileField(
        label=_l("CSV file"),
        required=False,
        allow_empty_file=True,
        help_text=_l("Columns full_name, email, employer; 1,000 rows or 1 MB at most."),
    )
    text = forms.CharField(
        label=_l("Or the list as text"),
        required=False,
        strip=False,
        widget=forms.Textarea(
            attrs={"rows": 12, "class": "code", "spellcheck": "false", "wrap": "off"}
        ),
    )
    good_only = forms.BooleanField(
        label=_l("Enrol the rows that are right now, and leave the others here to correct"),
        required=False,
    )

    def shown_again(self, text: str) -> "EnrolFileForm":
        """Return a form that holds ``text`` to be corrected, without errors of its own."""
        form = EnrolFileForm(initial={"text": text})
        form.fields["text"].label = _("The list, to correct")
        return form
