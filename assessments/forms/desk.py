"""Which versions are compared, and a copy of a program with its limits."""

from collections.abc import Mapping, Sequence
from typing import Any

from django import forms
from django.forms import BoundField
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy as _l

from assessments.programfile.adapting import Adaptation, LimitRow, dimension_rows, limit_rows
from training.models import Program


class CompareForm(forms.Form):
    """The version that another one is compared with."""

    before = forms.ChoiceField(label=_l("Compare with"), required=False)

    def __init__(self, *args: Any, others: Sequence[Program], **kw: Any) -> None:
        super().__init__(*args, **kw)
        self.fields["before"].choices = [  # type: ignore[attr-defined]
            (
                str(each.pk),
                _("{code}, version {version}: {title}").format(
                    code=each.code, version=each.version, title=each.title
                ),
            )
            for each in others
        ]


def _line(label: str, limit: int, **kw: Any) -> forms.CharField:
    """Return a field for one line; the label names what it belongs to, also above the form."""
    return forms.CharField(label=label, max_length=limit, required=False, **kw)


class CopyForm(forms.Form):
    """Code, title and scope of the copy, each dimension and each limit with its source."""

    code = forms.CharField(max_length=40, error_messages={"required": _l("Write a code.")})
    title = forms.CharField(max_length=200, error_messages={"required": _l("Write a title.")})
    scope = forms.CharField(
        required=False, max_length=4000, widget=forms.Textarea(attrs={"rows": 4})
    )
    note = forms.CharField(
        label=_l("What else changed, and why"),
        required=False,
        max_length=3000,
        widget=forms.Textarea(attrs={"rows": 3}),
        help_text=_l("From which version it was copied is written by itself."),
    )

    def __init__(self, *args: Any, document: Mapping[str, Any], **kw: Any) -> None:
        super().__init__(*args, **kw)
        self._dimensions = dimension_rows(document)
        self._limits = limit_rows(document)
        for name in ("code", "title", "scope"):
            self.fields[name].initial = document[name]
        self.fields["code"].help_text = _(
            "{code} makes its next version; a new code makes a new program."
        ).format(code=document["code"])
        for name, value in self._dimensions:
            self._add_dimension(name, value)
        for row in self._limits:
            self._add_limits(row)

    def _add_dimension(self, name: str, value: str) -> None:
        self.fields |= {
            f"dimension-{name}": _line(name, 40, initial=value),
            f"dimension_source-{name}": _line(
                _("Source of {name}, if it changes").format(name=name), 300
            ),
        }

    def _add_limits(self, row: LimitRow) -> None:
        confirm = forms.BooleanField(
            label=_("The source holds for the new limits too"), required=False
        )
        self.fields |= {
            f"lower-{row.key}": _line(
                _("Lower limit: {title}").format(title=row.title), 200, initial=row.lower
            ),
            f"upper-{row.key}": _line(
                _("Upper limit: {title}").format(title=row.title), 200, initial=row.upper
            ),
            f"source-{row.key}": forms.CharField(
                label=_("Source of the limits: {title}").format(title=row.title),
                max_length=500,
                required=False,
                initial=row.source,
                widget=forms.Textarea(attrs={"rows": 2}),
            ),
            f"confirmed-{row.key}": confirm,
        }

    def dimension_fields(self) -> list[tuple[str, BoundField, BoundField]]:
        """Return (name, dimension, its source) for each dimension."""
        return [
            (name, self[f"dimension-{name}"], self[f"dimension_source-{name}"])
            for name, _unused in self._dimensions
        ]

    def limit_fields(self) -> list[tuple[LimitRow, BoundField, BoundField, BoundField, BoundField]]:
        """Return (criterion, lower, upper, source, confirmed) for each measured criterion."""
        return [
            (
                row,
                self[f"lower-{row.key}"],
                self[f"upper-{row.key}"],
                self[f"source-{row.key}"],
                self[f"confirmed-{row.key}"],
            )
            for row in self._limits
        ]

    def typed(self) -> Adaptation:
        """Return what was typed, ready to be adapted."""
        values = self.cleaned_data
        keys = [row.key for row in self._limits]
        names = [name for name, _unused in self._dimensions]
        return Adaptation(
            code=values["code"],
            title=values["title"],
            scope=_lines(values["scope"]),
            note=_lines(values["note"]),
            dimensions={name: values[f"dimension-{name}"] for name in names},
            dimension_sources={
                name: _one_line(values[f"dimension_source-{name}"]) for name in names
            },
            limits={key: (values[f"lower-{key}"], values[f"upper-{key}"]) for key in keys},
            sources={key: _one_line(values[f"source-{key}"]) for key in keys},
            confirmed=frozenset(key for key in keys if values[f"confirmed-{key}"]),
        )


def _lines(text: str) -> str:
    """Return a text with the line ends and spaces of a program file."""
    return "\n".join(" ".join(line.split()) for line in text.strip().splitlines())


def _one_line(text: str) -> str:
    return " ".join(text.split())
