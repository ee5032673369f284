"""A practice plan, row by row, and a practice piece."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy as _l

from assessments.actions.practice_pieces import LONGEST_TITLE
from assessments.actions.practice_plans import LONGEST_NOTE, LONGEST_TEXT, MOST_ITEMS, ItemFacts
from assessments.models import PlanItem
from training.models import Module, Session

FIELDS = ("text", "by_day", "criterion", "module", "leave_out")
SPARE = 2  # empty rows below those that are filled in


@dataclass(frozen=True)
class Row:
    """What a row of the form begins with; ``of`` is the item of the plan before."""

    text: str = ""
    by_day: date | None = None
    criterion: str = ""
    module: Module | None = None
    of: PlanItem | None = None


class PlanForm(forms.Form):
    """What to practise: a row for each thing, with some empty ones; a row left empty is no thing.

    ``rows`` begin it; what was sent says itself how many rows it has.
    """

    note = forms.CharField(
        label=_l("Note to the other side"),
        required=False,
        max_length=LONGEST_NOTE,
        widget=forms.Textarea(attrs={"rows": 3}),
        error_messages={"max_length": _l("Keep the note to %(limit_value)d characters.")},
    )
    rows = forms.IntegerField(widget=forms.HiddenInput, min_value=1, max_value=MOST_ITEMS)
    replaces = forms.UUIDField(widget=forms.HiddenInput, required=False)

    def __init__(
        self,
        data: Mapping[str, Any] | None = None,
        *,
        begin: Sequence[Row],
        criteria: Sequence[Mapping[str, Any]],
        modules: Sequence[Module],
        before: Sequence[PlanItem] = (),
        replaces: Any = None,
    ) -> None:
        rows = min(len(begin) + SPARE, MOST_ITEMS)
        super().__init__(data, initial={"rows": rows, "replaces": replaces})
        self.modules = {str(module.pk): module for module in modules}
        self.before = {str(item.pk): item for item in before}
        self.count = _count(data, rows)
        choices = [("", _("No single criterion")), *((c["key"], c["title"]) for c in criteria)]
        taught = [("", _("No module")), *((key, m.title) for key, m in self.modules.items())]
        for number in range(self.count):
            row = begin[number] if number < len(begin) else Row()
            self._add(number, row, choices, taught)

    def _add(
        self,
        number: int,
        row: Row,
        criteria: list[tuple[str, str]],
        modules: list[tuple[str, str]],
    ) -> None:
        self.fields[f"text_{number}"] = forms.CharField(
            label=_("What to practise"),
            required=False,
            max_length=LONGEST_TEXT,
            initial=row.text,
            widget=forms.Textarea(attrs={"rows": 3}),
        )
        self.fields[f"by_day_{number}"] = forms.DateField(
            label=_("By which day"),
            required=False,
            initial=row.by_day,
            widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"),
            input_formats=["%Y-%m-%d"],
            error_messages={"invalid": _("Choose a day.")},
        )
        unknown = {"invalid_choice": _("Choose one of the list.")}
        self.fields[f"criterion_{number}"] = forms.ChoiceField(
            label=_("For which criterion"),
            required=False,
            choices=criteria,
            initial=row.criterion,
            error_messages=unknown,
        )
        self.fields[f"module_{number}"] = forms.ChoiceField(
            label=_("Module that teaches it"),
            required=False,
            choices=modules,
            initial=str(row.module.pk) if row.module else "",
            error_messages=unknown,
        )
        self.fields[f"leave_out_{number}"] = forms.BooleanField(
            label=_("Leave this out"), required=False
        )
        self.fields[f"of_{number}"] = forms.CharField(
            required=False,
            widget=forms.HiddenInput,
            initial=str(row.of.pk) if row.of else "",
        )

    def clean(self) -> dict[str, Any]:
        """Ask for the text and the day of every row in which something is filled in."""
        cleaned: dict[str, Any] = super().clean() or self.cleaned_data
        for number in range(self.count):
            if cleaned.get(f"leave_out_{number}"):
                for name in FIELDS:
                    self.errors.pop(f"{name}_{number}", None)
                continue
            text, day = f"text_{number}", f"by_day_{number}"
            used = any(cleaned.get(f"{name}_{number}") for name in FIELDS) or day in self.errors
            if not used:
                continue
            if text not in self.errors and not cleaned.get(text, "").strip():
                self.add_error(text, _("Write what to practise, or tick “Leave this out”."))
            if day not in self.errors and not cleaned.get(day):
                self.add_error(day, _("Choose the day by which it is practised."))
        return cleaned

    def items(self) -> list[ItemFacts]:
        """Return the rows that are filled in; only of a valid form."""
        found = []
        for number in range(self.count):
            text = self.cleaned_data[f"text_{number}"].strip()
            if not text or self.cleaned_data[f"leave_out_{number}"]:
                continue
            found.append(
                ItemFacts(
                    text=text,
                    by_day=self.cleaned_data[f"by_day_{number}"],
                    criterion=self.cleaned_data[f"criterion_{number}"],
                    module=self.modules.get(self.cleaned_data[f"module_{number}"]),
                    field=f"_{number}",
                    of=self.before.get(self.cleaned_data[f"of_{number}"]),
                )
            )
        return found

    def shown(self) -> list[list[forms.BoundField]]:
        """Return the fields that a person sees, row by row."""
        return [[self[f"{name}_{number}"] for name in FIELDS] for number in range(self.count)]

    def kept(self) -> list[forms.BoundField]:
        """Return the hidden fields."""
        return self.hidden_fields()


class PieceForm(forms.Form):
    """A piece made for practice."""

    title = forms.CharField(
        label=_l("What was made"),
        help_text=_l("Such as: dutchman at the sill of bay 3, second try."),
        max_length=LONGEST_TITLE,
        error_messages={
            "required": _l("Write what was made."),
            "max_length": _l("%(limit_value)d characters at most: write it shorter."),
        },
    )
    made_on = forms.DateField(
        label=_l("Made on"),
        widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"),
        input_formats=["%Y-%m-%d"],
        error_messages={
            "required": _l("Choose the day on which it was made."),
            "invalid": _l("Choose a day."),
        },
    )
    session = forms.ChoiceField(
        label=_l("Session"),
        help_text=_l("In which it was made, if in one of the calendar."),
        required=False,
        error_messages={"invalid_choice": _l("Choose one of the list.")},
    )

    def __init__(
        self,
        data: Mapping[str, Any] | None = None,
        *,
        sessions: Sequence[Session],
        labels: Mapping[Any, str],
        today: date,
    ) -> None:
        super().__init__(data, initial={"made_on": today})
        self.sessions = {str(session.pk): session for session in sessions}
        field = self.fields["session"]
        assert isinstance(field, forms.ChoiceField)
        field.choices = [
            ("", _("None of them")),
            *((key, labels[session.pk]) for key, session in self.sessions.items()),
        ]

    def facts(self) -> dict[str, Any]:
        """Return what the action takes; only of a valid form."""
        return {
            "title": self.cleaned_data["title"],
            "made_on": self.cleaned_data["made_on"],
            "session": self.sessions.get(self.cleaned_data["session"]),
        }


def _count(data: Mapping[str, Any] | None, rows: int) -> int:
    """Return how many rows were sent; what cannot be read is told at the field, not here."""
    try:
        sent = int(data["rows"]) if data is not None else rows
    except (KeyError, ValueError, TypeError):
        return rows
    return sent if 1 <= sent <= MOST_ITEMS else rows
