"""What a judge declares and enters."""

import re
from collections.abc import Mapping
from typing import TYPE_CHECKING, Any, ClassVar

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy as _l

from assessments.actions.panel.guards import LONGEST_NOTE, LONGEST_TEXT
from assessments.models import Judgement, Panel
from assessments.programfile.quantities import read_share, write_share
from assessments.queries.panel.asked import DIFFICULTY, GROUPS, LIMITS, RATINGS, RELEVANCE

if TYPE_CHECKING:
    from django_stubs_ext import StrOrPromise

Value = dict[str, Any]
_PLAIN = re.compile(r"\d{1,3}(?:[.,]\d{1,4})?")


class DeclarationForm(forms.Form):
    """Why this person can judge, and with which interests."""

    qualifications = forms.CharField(
        label=_l("What qualifies you"),
        max_length=LONGEST_TEXT,
        widget=forms.Textarea(attrs={"rows": 4}),
        help_text=_l("Trade, years in it, tickets, what you have judged before."),
        error_messages={"required": _l("Write what qualifies you to judge this work.")},
    )
    interests = forms.CharField(
        label=_l("Your interests in who meets the standard"),
        max_length=LONGEST_TEXT,
        widget=forms.Textarea(attrs={"rows": 3}),
        help_text=_l(
            "For example whom you employ, teach or are related to. If there is none, write: none."
        ),
        error_messages={"required": _l("Write your interests; if there is none, write: none.")},
    )


class ShareField(forms.CharField):
    """How many of 100: ``65``, ``65 %`` or a fraction; exact."""

    def __init__(self, label: "StrOrPromise", **kwargs: Any) -> None:
        super().__init__(
            label=label,
            max_length=20,
            widget=forms.TextInput(attrs={"inputmode": "decimal", "autocomplete": "off"}),
            error_messages={"required": _l("Write a number from 0 to 100.")},
            **kwargs,
        )

    def clean(self, value: Any) -> str:
        """Return the exact part of 1."""
        typed = super().clean(value).strip()
        if _PLAIN.fullmatch(typed):
            plain = typed.replace(",", ".")
            if "." in plain and plain.startswith("0."):
                raise forms.ValidationError(
                    _(
                        "Is it {plain} of 100, or a share of 1? Write how many of 100, such as 65."
                    ).format(plain=plain)
                )
            typed = f"{plain} %"
        try:
            return read_share(typed)
        except ValueError as error:
            raise forms.ValidationError(
                _("Write how many of 100, from 0 to 100, such as 65.")
            ) from error


class JudgementForm(forms.Form):
    """A judgement and a note on it; ``value`` is as the action takes it."""

    note = forms.CharField(
        label=_l("Why (if you like)"),
        max_length=LONGEST_NOTE,
        required=False,
        widget=forms.Textarea(attrs={"rows": 2}),
    )
    entries: ClassVar[tuple[str, ...]] = ()

    def value(self) -> Value:
        """Return what was entered; only of a valid form."""
        return {name: self.cleaned_data[name] for name in self.entries}

    @classmethod
    def initial_of(cls, value: Mapping[str, Any]) -> dict[str, Any]:
        """Return the form's initial data for changing ``value``."""
        return dict(value)


class ShareForm(JudgementForm):
    """How many of 100."""

    share = ShareField(_l("How many of 100"))
    entries = ("share",)

    @classmethod
    def initial_of(cls, value: Mapping[str, Any]) -> dict[str, Any]:
        """Return the share as it is typed."""
        return {"share": _typed(value["share"])}


class PlacementForm(JudgementForm):
    """Relevance and difficulty of a criterion."""

    relevance = forms.ChoiceField(
        label=_l("How relevant is it for this work?"),
        choices=[(key, _l(said)) for key, said in RELEVANCE.items()],
        widget=forms.RadioSelect,
        error_messages={"required": _l("Choose how relevant it is.")},
    )
    difficulty = forms.ChoiceField(
        label=_l("How hard is it for the mason who just meets the standard?"),
        choices=[(key, _l(said)) for key, said in DIFFICULTY.items()],
        widget=forms.RadioSelect,
        error_messages={"required": _l("Choose how hard it is.")},
    )
    entries = ("relevance", "difficulty")


class RatingForm(JudgementForm):
    """A piece beside the mason who just meets the standard."""

    rating = forms.TypedChoiceField(
        coerce=int,
        choices=[(key, _l(said)) for key, said in RATINGS.items()],
        widget=forms.RadioSelect,
        error_messages={"required": _l("Choose a rating from 1 to 5.")},
    )
    entries = ("rating",)


class GroupForm(JudgementForm):
    """Which group a piece belongs to."""

    group = forms.ChoiceField(
        choices=[(key, _l(said)) for key, said in GROUPS.items()],
        widget=forms.RadioSelect,
        error_messages={"required": _l("Choose one of the two groups.")},
    )
    entries = ("group",)


class LimitsForm(JudgementForm):
    """Between what a reasonable cut lies, and between what a reasonable share of trainees."""

    least_cut = ShareField(_l("Lowest reasonable cut, in %"))
    most_cut = ShareField(_l("Highest reasonable cut, in %"))
    least_fail = ShareField(_l("At the least, of 100 trainees not yet meeting it"))
    most_fail = ShareField(_l("At the most, of 100 trainees not yet meeting it"))
    entries = LIMITS

    @classmethod
    def initial_of(cls, value: Mapping[str, Any]) -> dict[str, Any]:
        """Return the limits as they are typed."""
        return {name: _typed(value[name]) for name in LIMITS}


def form_for(method: str, kind: str) -> type[JudgementForm]:
    """Return the form of what the method asks about a subject of this kind."""
    if kind == Judgement.Subject.LIMITS:
        return LimitsForm
    if kind == Judgement.Subject.ATTEMPT:
        return RatingForm if method == Panel.Method.BORDERLINE else GroupForm
    if kind == Judgement.Subject.CRITERION and method == Panel.Method.EBEL:
        return PlacementForm
    return ShareForm


def _typed(exact: str) -> str:
    return write_share(exact).removesuffix(" %")
