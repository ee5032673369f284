"""Whom a link of one's own is for, which records it shows, and for how many days."""

from typing import Any

from django import forms
from django.utils.functional import lazy
from django.utils.translation import gettext_lazy as _l

from certificates.actions.own_links import (
    DAYS,
    FEWEST_DAYS,
    LONGEST_RECIPIENT,
    MOST_DAYS,
    no_recipient,
    wrong_days,
)
from certificates.models import Record
from training.models import Person

_no_recipient, _wrong_days = lazy(no_recipient, str), lazy(wrong_days, str)
CHOOSE = _l("Choose at least one record to show.")


class RecordsField(forms.ModelMultipleChoiceField):  # type: ignore[type-arg]
    """The own records, by program and number."""

    def label_from_instance(self, obj: Record) -> str:
        """Return the title of the program and the number."""
        return f"{obj.decision.attempt.enrolment.run.program.title}, {obj.number}"


class OwnLinkForm(forms.Form):
    """A link of one's own."""

    recipient = forms.CharField(
        label=_l("Whom is the link for?"),
        max_length=LONGEST_RECIPIENT,
        help_text=_l(
            "A name, a firm or an office. Make one for each reader: you see who opened it, and can "
            "end one without the others."
        ),
        widget=forms.TextInput(attrs={"autocomplete": "off"}),
        error_messages={"required": _no_recipient(), "max_length": _no_recipient()},
    )
    records = RecordsField(
        Record.objects.none(),
        label=_l("Which records does it show?"),
        widget=forms.CheckboxSelectMultiple,
        error_messages=dict.fromkeys(("required", "invalid_choice", "invalid_pk_value"), CHOOSE),
    )
    days = forms.IntegerField(
        label=_l("For how many days?"),
        initial=DAYS,
        min_value=FEWEST_DAYS,
        max_value=MOST_DAYS,
        error_messages=dict.fromkeys(
            ("required", "invalid", "min_value", "max_value"), _wrong_days()
        ),
    )

    def __init__(self, *args: Any, holder: Person, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        records = self.fields["records"]
        assert isinstance(records, RecordsField)
        records.queryset = (
            Record.objects.filter(holder=holder, replaced_by__isnull=True)
            .exclude(document__has_key="erased")
            .select_related("decision__attempt__enrolment__run__program")
            .defer("document", "decision__document", "decision__observations")
        )
