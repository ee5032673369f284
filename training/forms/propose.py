"""A proposal of sessions for a whole run, to be looked over before anything is saved."""

from collections.abc import Iterator
from datetime import date, datetime
from typing import Any

from django import forms
from django.utils.formats import date_format
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy as _l

from training.errors import Refused
from training.forms.sessions import Choices, SessionForm, WhereAndWho, time_field
from training.packing import pack
from training.site_time import instant, run_days, zone_of

MOST_ROWS = 300
SATURDAY = 5


class ProposeForm(WhereAndWho):
    """The days and hours to pack the program's modules into."""

    days = forms.TypedMultipleChoiceField(
        label=_l("Days"),
        coerce=date.fromisoformat,
        widget=forms.CheckboxSelectMultiple,
        error_messages={"required": _l("Choose at least one day.")},
    )
    starts = time_field(_l("Work begins at"))
    break_from = time_field(_l("Break from"))
    break_to = time_field(_l("Break to"))
    ends = time_field(_l("Work ends at"))

    field_order = ("days", "starts", "break_from", "break_to", "ends", "place", "instructors")

    def __init__(self, *args: Any, choices: Choices, **kwargs: Any) -> None:
        super().__init__(*args, choices=choices, **kwargs)
        run = choices.run
        days = run_days(run)
        field = self.fields["days"]
        assert isinstance(field, forms.TypedMultipleChoiceField)
        field.choices = [(day.isoformat(), date_format(day, "D j M Y")) for day in days]
        self.initial = {
            "days": [day.isoformat() for day in days if day.weekday() < SATURDAY],
            "starts": "08:00",
            "break_from": "12:00",
            "break_to": "12:45",
            "ends": "16:30",
            "instructors": [person.pk for person in choices.people[:1]],
            **self.initial,
        }
        self.fields["starts"].help_text = _("By the clocks of {site} ({time_zone}).").format(
            site=run.site, time_zone=run.site.time_zone
        )
        self.fields["break_from"].help_text = _("The same hour twice means no break.")

    def clean(self) -> dict[str, Any]:
        """Hold the hours to their order."""
        data = super().clean() or {}
        names = ("starts", "break_from", "break_to", "ends")
        if data.keys() >= set(names):
            starts, rest, back, ends = (data[name] for name in names)
            if ends <= starts:
                self.add_error("ends", _("Work ends before it begins: change one of them."))
            elif back < rest:
                self.add_error(
                    "break_to", _("The break ends before it begins: change one of them.")
                )
            elif rest < starts or back > ends:
                self.add_error("break_from", _("The break is outside the working hours."))
        return data

    def rows(self) -> list[dict[str, Any]]:
        """Return the proposed sessions as what a ``SessionForm`` starts from.

        Raises Refused when the hours do not hold the program, with the minutes that are missing.
        """
        choices = self.choices
        if not choices.modules:
            raise Refused(_("This program has no modules: add sessions one by one instead."))
        try:
            pieces = pack([each.minutes for each in choices.modules], list(self._spans()))
        except ValueError as error:
            raise Refused(
                _(
                    "These days and hours are {minutes} minutes short of what the program's "
                    "modules take: choose more days or longer hours."
                ).format(minutes=error.args[0]),
                field="days",
            ) from error
        zone = zone_of(choices.run.site)
        return [
            {
                "module": choices.modules[piece.index].pk,
                "title": choices.modules[piece.index].title[:200],
                "day": piece.starts_at.astimezone(zone).date(),
                "starts": piece.starts_at.astimezone(zone).time(),
                "ends": piece.ends_at.astimezone(zone).time(),
                "place": self.data.get(self.add_prefix("place")),
                "instructors": [person.pk for person in self.cleaned_data["instructors"]],
            }
            for piece in pieces
        ]

    def _spans(self) -> Iterator[tuple[datetime, datetime]]:
        data = self.cleaned_data
        zone = zone_of(self.choices.run.site)
        for day in sorted(data["days"]):
            for first, last in (("starts", "break_from"), ("break_to", "ends")):
                start = instant(day, data[first], zone, field=first)
                end = instant(day, data[last], zone, field=last)
                if start < end:
                    yield start, end


class ProposedForm(SessionForm):
    """A row of a proposal, which can be left out."""

    leave_out = forms.BooleanField(label=_l("Leave this one out"), required=False)

    def clean(self) -> dict[str, Any]:
        """Ask nothing of a row that is left out."""
        if self.cleaned_data.get("leave_out"):
            self.errors.clear()
            return self.cleaned_data
        return super().clean()


ProposedFormSet = forms.formset_factory(
    ProposedForm, extra=0, max_num=MOST_ROWS, absolute_max=MOST_ROWS, validate_max=True
)
