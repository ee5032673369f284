"""What an assessor enters on one subject: a criterion of some kind, or a hold point.

Every form keeps what was typed when something is wrong, each error at its own field, and
gives the ``value`` of the observation (engine/FORMATS.md) once it is valid.
"""

import uuid
from collections.abc import Mapping
from datetime import datetime
from typing import TYPE_CHECKING, Any, ClassVar

from django import forms
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy as _l

from assessments.actions.events import LONGEST_NOTE
from assessments.engine.errors import EngineError
from assessments.engine.quantities import parse_quantity
from training.said import said

if TYPE_CHECKING:
    from django_stubs_ext import StrOrPromise

Value = dict[str, Any]
YES_NO = (("yes", _l("Yes")), ("no", _l("No")))
MOST_COUNTED = 100_000
SECOND = "%Y-%m-%dT%H:%M:%S"


class SubjectForm(forms.Form):
    """What every subject has: the note, and which observation this makes and replaces."""

    observation_id = forms.UUIDField(widget=forms.HiddenInput)
    replaces = forms.UUIDField(widget=forms.HiddenInput, required=False)
    not_applicable = forms.BooleanField(label=_l("Does not apply to this piece"), required=False)
    reason = forms.CharField(
        label=_l("Why it does not apply"),
        max_length=500,
        required=False,
        widget=forms.Textarea(attrs={"rows": 2}),
    )
    note = forms.CharField(
        label=_l("Note for the trainee"),
        help_text=_l("What you saw, and where on the piece."),
        max_length=LONGEST_NOTE,
        required=False,
        widget=forms.Textarea(attrs={"rows": 3}),
    )
    # The fields that make up the value, in the order in which they are entered.
    entries: ClassVar[tuple[str, ...]] = ()

    def __init__(
        self,
        data: Mapping[str, Any] | None = None,
        *,
        subject: Mapping[str, Any],
        initial: Mapping[str, Any] | None = None,
        prefix: str | None = None,
    ) -> None:
        first = {"observation_id": uuid.uuid4(), **(initial or {})}
        super().__init__(data, initial=first, prefix=prefix)
        self.subject = subject
        if not subject.get("not_applicable"):
            del self.fields["not_applicable"], self.fields["reason"]

    def clean(self) -> dict[str, Any]:
        """Ask for a reason, and nothing else, where the criterion does not apply."""
        cleaned: dict[str, Any] = super().clean() or self.cleaned_data
        if not cleaned.get("not_applicable"):
            return cleaned
        for name in self.entries:
            self.errors.pop(name, None)
        if not cleaned.get("reason", "").strip():
            self.add_error("reason", _("Write why this does not apply to the piece."))
        return cleaned

    def value(self) -> Value:
        """Return the observation's value; only of a valid form."""
        if self.cleaned_data.get("not_applicable"):
            return {"not_applicable": True, "reason": self.cleaned_data["reason"]}
        return self.entered()

    def entered(self) -> Value:
        """Return the value as it was entered."""
        raise NotImplementedError

    @classmethod
    def initial_of(cls, value: Value) -> dict[str, Any]:
        """Return the form's initial data for correcting ``value``."""
        if value.get("not_applicable"):
            return {"not_applicable": True, "reason": value["reason"]}
        return {} if value.get("cleared") else cls.entered_before(value)

    @classmethod
    def entered_before(cls, value: Value) -> dict[str, Any]:
        """Return the initial data for a value that was entered."""
        raise NotImplementedError


class RatedForm(SubjectForm):
    """One of the described levels."""

    level = forms.TypedChoiceField(
        coerce=int,
        widget=forms.RadioSelect,
        error_messages={"required": _l("Choose the level that describes the piece.")},
    )
    entries = ("level",)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        field = self.fields["level"]
        assert isinstance(field, forms.TypedChoiceField)
        field.label = _("Level")
        field.choices = [
            (index, level["description"]) for index, level in enumerate(self.subject["levels"])
        ]

    def entered(self) -> Value:
        """Return the index of the level."""
        return {"level": self.cleaned_data["level"]}

    @classmethod
    def entered_before(cls, value: Value) -> dict[str, Any]:
        """Return the level chosen before."""
        return {"level": value["level"]}


class ReadingField(forms.CharField):
    """One reading as it stands on the rule, such as ``1 1/2`` or ``38.1 mm``."""

    def __init__(self, unit: str, **kwargs: Any) -> None:
        super().__init__(strip=True, max_length=40, **kwargs)
        self.unit = unit

    def clean(self, value: Any) -> Any:
        """Return the reading {typed, value, unit}, exact."""
        typed = super().clean(value)
        try:
            return parse_quantity(typed, self.unit).as_reading()
        except EngineError as error:
            raise forms.ValidationError(said(error.message), code="unreadable") from None


class MeasuredForm(SubjectForm):
    """As many readings as the standard asks for."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.entries = tuple(f"reading_{i}" for i in range(self.subject["readings"]))  # type: ignore[misc]
        for number, name in enumerate(self.entries, 1):
            self.fields[name] = ReadingField(
                self.subject["unit"],
                label=_("Reading {number}").format(number=number),
                widget=forms.TextInput(attrs={"autocomplete": "off", "inputmode": "text"}),
                error_messages={"required": _("Write reading {number}.").format(number=number)},
            )

    def entered(self) -> Value:
        """Return the readings in the order in which they were taken."""
        return {"readings": [self.cleaned_data[name] for name in self.entries]}

    @classmethod
    def entered_before(cls, value: Value) -> dict[str, Any]:
        """Return the readings as they were typed."""
        return {f"reading_{i}": reading["typed"] for i, reading in enumerate(value["readings"])}


class CheckedForm(SubjectForm):
    """Yes or no."""

    answer = forms.ChoiceField(
        choices=YES_NO,
        widget=forms.RadioSelect,
        error_messages={"required": _l("Choose yes or no.")},
    )
    entries = ("answer",)

    def entered(self) -> Value:
        """Return the answer."""
        return {"answer": self.cleaned_data["answer"] == "yes"}

    @classmethod
    def entered_before(cls, value: Value) -> dict[str, Any]:
        """Return the answer given before."""
        return {"answer": "yes" if value["answer"] else "no"}


class CountedForm(SubjectForm):
    """How many."""

    count = forms.IntegerField(
        min_value=0,
        max_value=MOST_COUNTED,
        widget=forms.TextInput(attrs={"inputmode": "numeric", "autocomplete": "off"}),
        error_messages={
            "required": _l("Write how many; 0 when there is none."),
            "invalid": _l("Write a whole number, such as 0 or 3."),
            "min_value": _l("Write 0 or more."),
        },
    )
    entries = ("count",)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["count"].label = _("How many {what}").format(what=self.subject["what"])

    def entered(self) -> Value:
        """Return the count."""
        return {"count": self.cleaned_data["count"]}

    @classmethod
    def entered_before(cls, value: Value) -> dict[str, Any]:
        """Return the count entered before."""
        return {"count": value["count"]}


def _instant(label: "StrOrPromise", *, required: bool) -> forms.DateTimeField:
    return forms.DateTimeField(
        label=label,
        required=required,
        input_formats=[SECOND, SECOND.removesuffix(":%S")],
        widget=forms.DateTimeInput(format=SECOND, attrs={"type": "datetime-local", "step": "1"}),
        error_messages={
            "required": _l("Choose the day and the time of the start."),
            "invalid": _l("Choose a day and a time that this site's clock shows."),
        },
    )


class TimedForm(SubjectForm):
    """From when to when, on the site's clock (the time zone that is active).

    The start may be saved alone; the end then corrects it.
    """

    start = _instant(_l("Start"), required=True)
    end = _instant(_l("End"), required=False)
    entries = ("start", "end")

    def clean(self) -> dict[str, Any]:
        """Refuse an end before the start."""
        cleaned = super().clean()
        start, end = cleaned.get("start"), cleaned.get("end")
        if start and end and end < start and not cleaned.get("not_applicable"):
            self.add_error("end", _("The end lies before the start: check both times."))
        return cleaned

    def entered(self) -> Value:
        """Return the instants with their offset; no end while there is none."""
        instants = {name: self.cleaned_data.get(name) for name in self.entries}
        return {name: instant.isoformat() for name, instant in instants.items() if instant}

    @classmethod
    def entered_before(cls, value: Value) -> dict[str, Any]:
        """Return the instants on the site's clock."""
        return {
            name: timezone.localtime(datetime.fromisoformat(value[name]))
            for name in cls.entries
            if value.get(name)
        }


class HoldPointForm(SubjectForm):
    """Accepted, or not yet."""

    accepted = forms.ChoiceField(
        label=_l("May the next step hide this one?"),
        choices=(("yes", _l("Accepted")), ("no", _l("Not accepted"))),
        widget=forms.RadioSelect,
        error_messages={"required": _l("Choose accepted or not accepted.")},
    )
    entries = ("accepted",)

    def entered(self) -> Value:
        """Return whether it is accepted."""
        return {"accepted": self.cleaned_data["accepted"] == "yes"}

    @classmethod
    def entered_before(cls, value: Value) -> dict[str, Any]:
        """Return what was chosen before."""
        return {"accepted": "yes" if value["accepted"] else "no"}


FORMS: Mapping[str, type[SubjectForm]] = {
    "rated": RatedForm,
    "measured": MeasuredForm,
    "checked": CheckedForm,
    "counted": CountedForm,
    "timed": TimedForm,
    "hold_point": HoldPointForm,
}


class UndoForm(forms.Form):
    """Takes back what was observed last."""

    observation_id = forms.UUIDField(widget=forms.HiddenInput)
    replaces = forms.UUIDField(widget=forms.HiddenInput)
