"""What of the crew's register to show, and on which day."""

from collections.abc import Iterable, Sequence
from datetime import date
from typing import Any
from uuid import UUID

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy as _l
from django.utils.translation import gettext_noop as N_

from assessments.engine.errors import EngineError
from assessments.engine.qualification import Variable
from assessments.engine.quantities import parse_quantity
from certificates.queries.covering import Covering
from certificates.queries.crew import REGISTER_TONES, Asked
from certificates.queries.standing import NOT_ISSUED, REPLACED
from training.models import Organisation, Program
from training.said import said

# A row is never one of these: the register lists what stood on the day, and what took its place.
_NEVER = (NOT_ISSUED, REPLACED)
WORDS = {word: tone[2] for word, tone in REGISTER_TONES.items() if word not in _NEVER}

ORDERS = {
    "name": N_("Name"),
    "program": N_("Program"),
    "state": N_("State"),
    "valid_until": N_("Valid until"),
    "confirm_by": N_("Confirm by"),
}
NOT_OFFERED = N_("“%(value)s” is not in this list: choose one that is. It is left out meanwhile.")
FIRST, LAST = date(2000, 1, 1), date(2100, 12, 31)
OUTSIDE = N_("Write a day from 2000 to 2100. Today is taken meanwhile.")
NO_DAY = N_("Write a day that exists, such as 2027-03-31. Today is taken meanwhile.")
LONGEST = 100
ASKED = "covers-"


class DayForm(forms.Form):
    """The day to show things as at; empty is today."""

    at = forms.DateField(
        label=_l("As at"),
        required=False,
        widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"),
        error_messages={"invalid": _l(NO_DAY)},
    )

    def clean_at(self) -> date | None:
        """Refuse days on which nobody asks, which some calendars cannot reckon with."""
        found: date | None = self.cleaned_data["at"]
        if found is not None and not FIRST <= found <= LAST:
            raise forms.ValidationError(_(OUTSIDE))
        return found

    def day(self) -> date | None:
        """Return the day asked for; None for today, also when the field is at fault."""
        self.is_valid()
        found: date | None = self.cleaned_data.get("at") if self.is_bound else None
        return found


class CrewFilter(DayForm):
    """Every field is optional; with a program chosen, what its record has to cover, too."""

    field_order = ("text", "program", "standing", "employer", "at", "order")
    text = forms.CharField(
        label=_l("Name or record number"),
        required=False,
        max_length=LONGEST,
        strip=True,
        error_messages={"max_length": _l("Write at most 100 signs. It is left out meanwhile.")},
    )
    program = forms.ChoiceField(
        label=_l("Program"), required=False, error_messages={"invalid_choice": _l(NOT_OFFERED)}
    )
    standing = forms.ChoiceField(
        label=_l("State"),
        required=False,
        choices=[("", _l("Any")), *((word, _l(told)) for word, told in WORDS.items())],
        error_messages={"invalid_choice": _l(NOT_OFFERED)},
    )
    employer = forms.ChoiceField(
        label=_l("Employer"), required=False, error_messages={"invalid_choice": _l(NOT_OFFERED)}
    )
    order = forms.ChoiceField(
        label=_l("Sort by"),
        required=False,
        choices=[(order, _l(told)) for order, told in ORDERS.items()],
        error_messages={"invalid_choice": _l(NOT_OFFERED)},
    )

    def __init__(
        self,
        *args: Any,
        programs: Sequence[Program],
        employers: Sequence[Organisation],
        covering: Covering | None,
        **kwargs: Any,
    ) -> None:
        super().__init__(*args, **kwargs)
        self.covering = covering
        self.need: dict[str, Any] = {}
        self._choices("program", program_choices(programs))
        if len(employers) > 1:
            self._choices("employer", [(str(each.pk), each.name) for each in employers])
        else:
            del self.fields["employer"]
        rules = covering.latest if covering else None
        self.variables = rules.variables if rules else ()
        for variable in self.variables:
            self.fields[f"{ASKED}{variable.key}"] = _field(variable)

    def _choices(self, name: str, choices: Iterable[tuple[str, str]]) -> None:
        field = self.fields[name]
        assert isinstance(field, forms.ChoiceField)
        field.choices = [("", _("Any")), *choices]

    def clean(self) -> None:
        """Read what the record has to cover; what cannot be read is told at its field."""
        for variable in self.variables:
            name = f"{ASKED}{variable.key}"
            typed = self.cleaned_data.get(name)
            if not typed:
                continue
            try:
                need = {variable.key: _need(variable, typed)}
                if self.covering:
                    self.covering.standards(need)
                self.need.update(need)
            except EngineError as error:
                self.add_error(
                    name,
                    _("{message} It is left out meanwhile.").format(message=said(error.message)),
                )

    def asked(self) -> Asked:
        """Return what is asked for; a field at fault counts as left empty."""
        if not self.is_bound:
            return Asked()
        self.is_valid()
        data, need = self.cleaned_data, self.need
        program, employer = data.get("program"), data.get("employer")
        return Asked(
            at=data.get("at"),
            text=data.get("text") or "",
            family=UUID(program) if program else None,
            standards=self.covering.standards(need) if self.covering and need else None,
            word=data.get("standing") or "",
            employer=int(employer) if employer else None,
            order=data.get("order") or "name",
        )


def program_choices(programs: Sequence[Program]) -> list[tuple[str, str]]:
    """Return (key, title and code) of each program; its provider, too, when several give it."""
    codes = [program.code for program in programs]
    return [
        (
            str(program.pk),
            f"{program.title} ({program.code})"
            + (f", {program.provider}" if codes.count(program.code) > 1 else ""),
        )
        for program in programs
    ]


def _need(variable: Variable, typed: str) -> Any:
    """Return what is typed as the engine reads a need: one value, or one size."""
    if variable.kind != "window":
        return typed
    size = parse_quantity(typed, variable.unit or "").as_reading()
    return {"from": size["value"], "to": size["value"], "unit": size["unit"]}


def _field(variable: Variable) -> forms.Field:
    label = _("Covers: {title}").format(title=variable.title)
    if variable.kind == "window":
        return forms.CharField(
            label=f"{label} ({variable.unit})", required=False, max_length=LONGEST
        )
    return forms.ChoiceField(
        label=label,
        required=False,
        choices=[("", _("Any")), *((value, value) for value in variable.values)],
        error_messages={"invalid_choice": _(NOT_OFFERED)},
    )
