"""Noting presence at the desk, typing the code on the wall, asking and answering."""

import uuid
from datetime import datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy as _l

from training.errors import Refused
from training.forms.runs import day_field
from training.models import Attendance, Enrolment, Person, Session
from training.queries.calendar import sessions_of
from training.site_time import instant

KINDS = [(kind.value, kind.label) for kind in Attendance.Kind]


class TimedForm(forms.Form):
    """A day and an hour by the site's clocks, and the instant that they mean."""

    day = day_field(_l("Day"))
    time = forms.TimeField(
        label=_l("Time"),
        widget=forms.TimeInput(attrs={"type": "time"}, format="%H:%M"),
        error_messages={
            "required": _l("Write the time."),
            "invalid": _l("Write the time as hours and minutes, e.g. 08:05."),
        },
    )

    def __init__(self, *args: Any, session: Session, zone: ZoneInfo, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.zone = zone
        start = session.starts_at.astimezone(zone)
        self.initial.setdefault("day", start.date())
        self.initial.setdefault("time", start.time())
        self.fields["time"].help_text = _("By the clocks of the site ({key}).").format(key=zone.key)
        if start.date() == (session.ends_at.astimezone(zone) - timedelta(microseconds=1)).date():
            self.fields["day"].help_text = _("The day of the session.")
        else:
            self.fields["day"].help_text = _("The session goes on past midnight: choose which day.")

    def clean(self) -> dict[str, Any]:
        """Work out the instant ``at``, at the field where there is none."""
        values = super().clean() or {}
        if "day" in values and "time" in values:
            try:
                values["at"] = self.told(values["day"], values["time"])
            except Refused as refused:
                self.add_error("time", refused.message)
        return values

    def told(self, day: Any, time: Any) -> datetime:
        """Return the instant; Refused for an hour that the clocks leave out or have twice."""
        return instant(day, time, self.zone, field="time")


class PresenceForm(TimedForm):
    """How one person was present; with ``corrects`` a reason is needed."""

    id = forms.UUIDField(widget=forms.HiddenInput)
    kind = forms.ChoiceField(
        label=_l("What is noted"),
        choices=KINDS,
        widget=forms.RadioSelect,
        error_messages={"required": _l("Choose came, left or was not there.")},
    )
    note = forms.CharField(label=_l("Note"), max_length=300, required=False)
    field_order = ("kind", "day", "time", "note", "id")

    def __init__(self, *args: Any, corrects: Attendance | None = None, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.initial.setdefault("id", uuid.uuid4())
        self.initial.setdefault("kind", Attendance.Kind.CAME)
        if corrects is not None:
            note = self.fields["note"]
            note.label, note.required = _("Why it is corrected"), True
            note.error_messages["required"] = _("Write why it is corrected.")
            local = corrects.at.astimezone(self.zone)
            self.initial.update(day=local.date(), time=local.time(), kind=corrects.kind)
            self.fields["kind"].help_text = _(
                "Where somebody did not leave, choose Came and the time at which they came."
            )


class ManyForm(TimedForm):
    """The same of several people, such as from a list on paper."""

    people = forms.ModelMultipleChoiceField(
        Person.objects.none(),
        label=_l("Who"),
        widget=forms.CheckboxSelectMultiple,
        error_messages={"required": _l("Tick at least one person.")},
    )
    kind = forms.ChoiceField(label=_l("What is noted"), choices=KINDS, widget=forms.RadioSelect)
    field_order = ("people", "kind", "day", "time")

    def __init__(self, *args: Any, people: list[Person], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        field = self.fields["people"]
        assert isinstance(field, forms.ModelMultipleChoiceField)
        field.queryset = Person.objects.filter(pk__in=[each.pk for each in people])
        self.initial.setdefault("kind", Attendance.Kind.CAME)


class CodeForm(forms.Form):
    """The code on the wall, typed."""

    code = forms.CharField(
        label=_l("Code on the wall"),
        max_length=40,
        widget=forms.TextInput(
            attrs={"autocomplete": "off", "autocapitalize": "characters", "spellcheck": "false"}
        ),
        help_text=_l("Eight letters and digits. Small letters and spaces do not matter."),
        error_messages={"required": _l("Type the code, or scan it with the phone's camera.")},
    )


class AskForm(forms.Form):
    """A question of somebody who takes part."""

    text = forms.CharField(
        label=_l("Question"),
        max_length=2000,
        widget=forms.Textarea(attrs={"rows": 3}),
        error_messages={"required": _l("Write the question.")},
    )
    session = forms.ModelChoiceField(
        Session.objects.none(),
        label=_l("Session"),
        required=False,
        empty_label=_l("None in particular"),
    )

    def __init__(self, *args: Any, run: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        field = self.fields["session"]
        assert isinstance(field, forms.ModelChoiceField)
        field.queryset = sessions_of(run)


class WriteDownForm(AskForm):
    """A question asked aloud, written down by whoever teaches."""

    asked_by = forms.ModelChoiceField(
        Person.objects.none(), required=False, empty_label=_l("Not known"), label=_l("Asked by")
    )

    def __init__(self, *args: Any, run: Any, **kwargs: Any) -> None:
        super().__init__(*args, run=run, **kwargs)
        field = self.fields["asked_by"]
        assert isinstance(field, forms.ModelChoiceField)
        placed = run.enrolments.filter(state=Enrolment.State.ENROLLED)
        field.queryset = Person.objects.filter(pk__in=placed.values("person"))


class AnswerForm(forms.Form):
    """The answer to a question."""

    answer = forms.CharField(
        label=_l("Answer"),
        max_length=2000,
        widget=forms.Textarea(attrs={"rows": 5}),
        help_text=_l("Everybody on the run reads it."),
        error_messages={"required": _l("Write the answer.")},
    )
