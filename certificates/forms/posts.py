"""Describing a post by a program's own variables, its places and days; a file of posts."""

from __future__ import annotations

import uuid
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from django import forms
from django.forms import BoundField
from django.http import QueryDict
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy as _l
from django.utils.translation import gettext_noop as N_

from assessments.engine.errors import EngineError
from assessments.engine.qualification import Rules, Variable
from certificates.actions.projects.guards import (
    CLEAN,
    LONGEST_WORK,
    MOST_PLACES,
    FieldFault,
    condition_faults,
    text_faults,
)
from certificates.actions.projects.values import LABELS, PostValues, condition_text
from certificates.queries.projects import post_programs
from certificates.sizes import exact_size, shown_size, units_like
from training.forms.file_or_text import FileOrTextForm
from training.forms.runs import NOTHING_CHOSEN, day_field
from training.models import Program
from training.said import said

NOT_ASKED = N_("Tick none, and it is not asked about.")
GUESSED = N_(
    "This file is not UTF-8, so it was read as Windows-1252. Look at the accented letters below "
    "and mend the wrong ones before you save. Nothing is saved yet."
)


class ProgramField(forms.ModelChoiceField[Program]):
    """Programs with version and provider."""

    def label_from_instance(self, obj: Any) -> str:
        """Return the code first: it is what lists are sorted by."""
        return _("{code}: {title}, version {version} ({provider})").format(
            code=obj.code, title=obj.title, version=obj.version, provider=obj.provider
        )


class ProgramChoice(forms.Form):
    """The first step: what the work of the post is."""

    program = ProgramField(
        Program.objects.none(),
        label=_l("Program"),
        error_messages={
            "required": NOTHING_CHOSEN,
            "invalid_choice": _l("Choose a program from the list."),
        },
        help_text=_l(
            "A mason at this post needs a record of it, of this version or a later one. "
            "Listed are programs of which a passing standard is sealed."
        ),
    )

    def __init__(self, *args: Any, also: Iterable[uuid.UUID | None] = (), **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        _programs(self, "program", also)


@dataclass(frozen=True)
class ConditionGroup:
    """The fields of one variable, for the page."""

    title: str
    note: str
    fields: list[BoundField]
    window: bool


class PostForm(ProgramChoice):
    """A post; the fields from ``c.`` on are the variables of ``program``'s rules."""

    code = forms.CharField(
        label=_l("Code"),
        max_length=20,
        help_text=_l("Short, once in the project, such as B or N-2."),
        error_messages={"required": _l("Write a short code for the post, such as B or N-2.")},
    )
    title = forms.CharField(
        label=_l("Title"),
        max_length=200,
        help_text=_l("What is done and where, such as Dutchmen, north parapet."),
        error_messages={"required": _l("Write what the post is called.")},
    )
    work = forms.CharField(
        label=_l("Work"),
        required=False,
        max_length=LONGEST_WORK,
        widget=forms.Textarea(attrs={"rows": 3}),
        help_text=_l("More about it, if needed."),
    )
    places = forms.IntegerField(
        label=_l("Masons at once"),
        min_value=1,
        max_value=MOST_PLACES,
        error_messages={"required": _l("Write how many masons are needed at once.")},
    )
    starts_on = day_field(_l("First day"))
    ends_on = day_field(_l("Last day"))
    masons_per_lead = forms.IntegerField(
        label=_l(LABELS["masons_per_lead"]),
        required=False,
        min_value=1,
        max_value=MOST_PLACES,
        help_text=_l(
            "4 means: one lead for up to four masons, two for five to eight. A lead comes "
            "on top of the masons. Leave it empty if none is needed."
        ),
    )
    lead_program = ProgramField(
        Program.objects.none(),
        label=_l(LABELS["lead_program"]),
        required=False,
        help_text=_l("A lead needs a record of this as well as what the post itself asks for."),
    )
    shown = forms.CharField(widget=forms.HiddenInput, required=False)

    def __init__(
        self,
        *args: Any,
        program: Program,
        rules: Rules | None,
        also: Iterable[uuid.UUID | None] = (),
        **kwargs: Any,
    ) -> None:
        super().__init__(*args, also=[*also, program.pk], **kwargs)
        _programs(self, "lead_program", also)
        self.initial.setdefault("program", program.pk)
        self.initial["shown"] = str(program.pk)
        self.chosen, self.rules = program, rules
        self.lost: list[str] = []
        self.moved = ""  # said on top when another program was chosen without asking first
        for variable in rules.variables if rules else ():
            self.fields.update(_fields_of(variable))

    @property
    def groups(self) -> list[ConditionGroup]:
        """The variables of the rules in their order, each with its fields."""
        return [
            ConditionGroup(
                each.title,
                _(NOT_ASKED) if each.kind != "window" else "",
                [self[name] for name in _fields_of(each)],
                each.kind == "window",
            )
            for each in (self.rules.variables if self.rules else ())
        ]

    def take_over(self, values: PostValues) -> None:
        """Show what a post says; what the rules do not know is noted in ``lost``."""
        self.initial.update(
            {name: getattr(values, name) for name in LABELS if name != "conditions"}
        )
        self.initial["program"] = self.chosen.pk
        if values.lead_program:
            self.initial["lead_program"] = values.lead_program.pk
        for key, value in values.conditions.items():
            variable = self.rules.variable(key) if self.rules else None
            if variable is None or condition_faults({key: value}, self.rules):
                self.lost.append(f"{variable.title if variable else key}: {condition_text(value)}")
            elif isinstance(value, Mapping):
                unit = str(value["unit"])
                self.initial[f"c.{key}.unit"] = unit
                for end in ("from", "to"):
                    if value.get(end):
                        self.initial[f"c.{key}.{end}"] = shown_size(str(value[end]), unit)
                _offer(self.fields[f"c.{key}.unit"], unit)
            else:
                self.initial[f"c.{key}"] = value if isinstance(value, list) else [value]

    def take_over_typed(self, data: QueryDict) -> None:
        """Show what was typed for another program; what this one does not ask is in ``lost``."""
        for name, field in self.fields.items():
            if name in ("program", "shown"):
                continue
            if isinstance(field, forms.MultipleChoiceField):
                known = {value for value, _unused in _choices_of(field)}
                self.initial[name] = [each for each in data.getlist(name) if each in known]
            elif name in data:
                self.initial[name] = data[name]
        for name in data:
            typed = data.getlist(name)
            if name.startswith("c.") and not name.endswith(".unit"):
                left = [each for each in typed if each and each not in self._kept(name)]
                if left:
                    self.lost.append(f"{name[2:].replace('.', ' ')}: {', '.join(left)[:200]}")

    def _kept(self, name: str) -> list[str]:
        found = self.initial.get(name) if name in self.fields else None
        return found if isinstance(found, list) else [str(found)] if found else []

    def clean(self) -> dict[str, Any]:
        """Put the conditions asked for into ``conditions``, each fault at its field."""
        values = super().clean() or {}
        conditions: dict[str, Any] = {}
        for variable in self.rules.variables if self.rules else ():
            asked = (
                self._size(variable.key, values)
                if variable.kind == "window"
                else values.get(f"c.{variable.key}")
            )
            if asked:
                conditions[variable.key] = asked
        self.show(condition_faults(conditions, self.rules))
        self.show(text_faults({name: values[name] for name in CLEAN if name in values}))
        values["conditions"] = conditions
        return values

    def _size(self, key: str, values: Mapping[str, Any]) -> dict[str, Any] | None:
        if f"c.{key}.unit" not in values:
            return None  # its own error is told already
        unit = values[f"c.{key}.unit"]
        found: dict[str, Any] = {}
        if not unit and (values.get(f"c.{key}.from") or values.get(f"c.{key}.to")):
            self.add_error(f"c.{key}.unit", _("Choose the unit of these sizes."))
            return None
        for end in ("from", "to"):
            typed = values.get(f"c.{key}.{end}")
            if typed:
                try:
                    found[end] = exact_size(typed, unit)
                except EngineError as error:
                    self.add_error(f"c.{key}.{end}", said(error.message))
        return {**found, "unit": unit} if found else None

    def show(self, faults: Iterable[FieldFault]) -> None:
        """Put each fault at its field."""
        for fault in faults:
            name = fault.field
            if name.startswith("conditions."):
                name = f"c.{name.removeprefix('conditions.')}"
                name = name if name in self.fields else f"{name}.from"
            if name not in self.errors:
                self.add_error(name if name in self.fields else None, fault.message)

    def values(self) -> PostValues:
        """Return what a valid form asks of a post."""
        return PostValues(**{name: self.cleaned_data[name] for name in LABELS})


class PostsFileForm(FileOrTextForm):
    """Posts as a CSV file or as text."""

    nothing = _l("Choose a file, or write the posts here.")

    file = forms.FileField(
        label=_l("CSV file"),
        required=False,
        allow_empty_file=True,
        help_text=_l("500 posts or 1 MB at most."),
    )
    text = forms.CharField(
        label=_l("Or the file as text"),
        required=False,
        strip=False,
        widget=forms.Textarea(
            attrs={"rows": 12, "class": "code", "spellcheck": "false", "wrap": "off"}
        ),
    )

    def clean(self) -> dict[str, Any]:
        """As the base does; the words about guessed letters are those about posts."""
        values = super().clean()
        self.guessed = self.guessed and _(GUESSED)
        return values


def _fields_of(variable: Variable) -> dict[str, forms.Field]:
    """Return the fields of a variable by name."""
    name = f"c.{variable.key}"
    if variable.kind != "window":
        return {
            name: forms.MultipleChoiceField(
                label=variable.title,
                required=False,
                choices=[(each, each) for each in variable.values],
                widget=forms.CheckboxSelectMultiple,
                help_text=_(NOT_ASKED),
            )
        }
    assert variable.unit is not None
    found: dict[str, forms.Field] = {
        f"{name}.from": forms.CharField(
            label=_("{title}: from").format(title=variable.title), required=False
        ),
        f"{name}.to": forms.CharField(
            label=_("{title}: to").format(title=variable.title), required=False
        ),
    }
    found[f"{name}.unit"] = forms.ChoiceField(
        label=_("{title}: unit").format(title=variable.title),
        required=False,
        choices=[(each, each) for each in units_like(variable.unit)],
        initial=variable.unit,
    )
    return found


def _choices_of(field: forms.MultipleChoiceField) -> list[tuple[str, str]]:
    return list(field.choices)  # type: ignore[arg-type]


def _offer(field: forms.Field, unit: str) -> None:
    """Let ``unit`` be chosen: a file may name one that is not offered otherwise."""
    assert isinstance(field, forms.ChoiceField)
    if unit not in dict(list(field.choices)):  # type: ignore[arg-type]
        field.choices = [*list(field.choices), (unit, unit)]  # type: ignore[arg-type]


def _programs(form: forms.Form, name: str, also: Iterable[uuid.UUID | None]) -> None:
    field = form.fields[name]
    assert isinstance(field, forms.ModelChoiceField)
    field.queryset = post_programs(*also)
