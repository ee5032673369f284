"""What an assessor must reach, reference pieces with their agreed scores, taking authority."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from django import forms
from django.http import QueryDict
from django.utils.text import format_lazy
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy as _l

from assessments.actions.calibration.authority import LONGEST_REASON, MOST_MONTHS, MOST_PIECES
from assessments.actions.calibration.pieces import EMPTY, LONGEST
from assessments.engine.kinds import Measured
from assessments.engine.numberline import figures
from assessments.engine.standard import load_standard
from assessments.forms.score import FORMS, SubjectForm, Value
from assessments.programfile.quantities import read_share
from assessments.sentences import with_limits
from assessments.subjects import CRITERION, subjects_of
from training.errors import Refused

if TYPE_CHECKING:
    from django_stubs_ext import StrOrPromise

LEFT_OUT = "left_out"


def _count(label: "StrOrPromise", most: int, help_text: "StrOrPromise") -> forms.IntegerField:
    return forms.IntegerField(
        label=label,
        help_text=help_text,
        min_value=1,
        max_value=most,
        widget=forms.TextInput(attrs={"inputmode": "numeric", "autocomplete": "off"}),
        error_messages={
            "required": format_lazy(_l("Write a whole number from 1 to {most}."), most=most),
            "invalid": format_lazy(_l("Write a whole number from 1 to {most}."), most=most),
            "min_value": format_lazy(_l("Write a whole number from 1 to {most}."), most=most),
            "max_value": format_lazy(_l("Write a whole number from 1 to {most}."), most=most),
        },
    )


def _share(label: "StrOrPromise", help_text: "StrOrPromise") -> forms.CharField:
    return forms.CharField(
        label=label,
        help_text=help_text,
        max_length=40,
        widget=forms.TextInput(attrs={"autocomplete": "off"}),
        error_messages={
            "required": _l("Write a percentage such as 80 %, or a fraction such as 4/5.")
        },
    )


class RequirementForm(forms.Form):
    """What an assessor must reach to sign off."""

    pieces = _count(_l("Reference pieces"), MOST_PIECES, _l("How many different ones are scored."))
    months = _count(
        _l("Within months"),
        MOST_MONTHS,
        _l("How long a finished sitting counts, and an authority lasts."),
    )
    exact = _share(
        _l("Least share scored exactly as agreed"),
        _l("80 % means four criteria in five. 100 % means all."),
    )
    bias = _share(
        _l("Largest bias, either way"),
        _l("The mean of given less agreed scores, in percent of the whole scale."),
    )

    def clean_exact(self) -> str:
        """Return the share as exact text."""
        return self._read("exact")

    def clean_bias(self) -> str:
        """Return the share as exact text."""
        return self._read("bias")

    def _read(self, name: str) -> str:
        try:
            return read_share(self.cleaned_data[name])
        except ValueError as error:
            said = str(error)
            raise forms.ValidationError(f"{said[0].upper()}{said[1:]}.") from None


class PieceForm(forms.Form):
    """What a reference piece is."""

    title = forms.CharField(
        max_length=LONGEST["title"],
        help_text=_l("As it is marked, such as Sill stone B."),
        error_messages={"required": _l(EMPTY["title"])},
    )
    description = forms.CharField(
        label=_l("What it is, and where it is kept"),
        max_length=LONGEST["description"],
        help_text=_l("Whoever scores it reads this: say nothing of the scores."),
        widget=forms.Textarea(attrs={"rows": 3}),
        error_messages={"required": _l(EMPTY["description"])},
    )
    agreed_by = forms.CharField(
        label=_l("Who agreed on the scores, and when"),
        max_length=LONGEST["agreed_by"],
        error_messages={"required": _l(EMPTY["agreed_by"])},
    )


class WithdrawForm(forms.Form):
    """Why an authority is taken away."""

    reason = forms.CharField(
        label=_l("Why it is withdrawn"),
        max_length=LONGEST_REASON,
        help_text=_l("The assessor reads it."),
        widget=forms.Textarea(attrs={"rows": 2}),
        error_messages={"required": _l("Write why. The assessor reads it.")},
    )


@dataclass(frozen=True)
class Part:
    """One criterion, with worked-out limits, and the form of its agreed score."""

    criterion: Mapping[str, Any]
    form: SubjectForm

    @property
    def left_out(self) -> bool:
        """Whether nothing was entered, or the box for leaving it out is ticked."""
        entered = (self.form[name].data for name in self.form.fields if name != LEFT_OUT)
        return bool(self.form[LEFT_OUT].data) or not any(entered)


class AgreedForms:
    """A form for each criterion of a standard; what is left empty is left out."""

    def __init__(
        self,
        document: Mapping[str, Any],
        data: QueryDict | None = None,
        agreed: Mapping[str, Value] | None = None,
    ) -> None:
        standard = load_standard(document)
        self.bound = data is not None
        self.parts: list[Part] = []
        for subject in subjects_of(document):
            if subject.kind != CRITERION or subject.document is None:
                continue
            criterion = dict(subject.document)
            rule = standard.criterion(subject.key)
            if isinstance(rule.rule, Measured):
                criterion = with_limits(criterion, figures(rule))
            value = (agreed or {}).get(subject.key)
            self.parts.append(Part(criterion, _part(subject.key, criterion, data, value)))

    def __iter__(self) -> Iterator[Part]:
        return iter(self.parts)

    def is_valid(self) -> bool:
        """Say whether everything that was entered can be read."""
        return self.bound and not self.faulty

    def value(self) -> dict[str, Value]:
        """Return the agreed values by criterion; only of valid forms."""
        return {p.criterion["key"]: p.form.value() for p in self.parts if not p.left_out}

    def show(self, refused: Refused) -> bool:
        """Put a refusal at its criterion; False when it belongs to none."""
        for part in self.parts:
            if part.criterion["key"] == refused.field:
                part.form.add_error(None, refused.message)
                return True
        return False

    @property
    def faulty(self) -> list[Part]:
        """The criteria whose score has an error."""
        return [part for part in self.parts if not part.left_out and part.form.errors]


def _part(
    key: str, criterion: Mapping[str, Any], data: QueryDict | None, value: Value | None
) -> SubjectForm:
    kind = FORMS[criterion["kind"]]
    initial = kind.initial_of(value) if value is not None else {}
    form = kind(data, subject=criterion, initial=initial, prefix=key)
    for name in ("observation_id", "replaces", "note"):
        del form.fields[name]
    form.fields[LEFT_OUT] = forms.BooleanField(label=_("Leave this criterion out"), required=False)
    return form
