"""Asking for a review, giving it to somebody, scoring in it, and answering."""

import uuid
from collections.abc import Mapping, Sequence
from typing import Any

from django import forms
from django.http import HttpRequest
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy as _l

from assessments.actions.reviews.words import LONGEST
from assessments.forms.decide import SignOffForm
from assessments.models import Review
from assessments.queries.reviews.reviewers import Candidate
from training.actions.sitelog import NewPhoto
from training.forms.photo_rows import PhotoRows
from training.models import Person

Outcome = Review.Outcome


def reason_field(label: Any, help_text: Any, missing: Any, rows: int = 5) -> forms.CharField:
    """Return a field for reasons, of at most as many letters as are kept."""
    return forms.CharField(
        label=label,
        help_text=help_text,
        max_length=LONGEST,
        widget=forms.Textarea(attrs={"rows": rows}),
        error_messages={"required": missing},
    )


class AskForm(forms.Form):
    """Why a result should be looked at again."""

    review = forms.UUIDField(widget=forms.HiddenInput)
    reason = reason_field(
        _l("What should be looked at again, and why"),
        _l(
            "Name the criterion or the stage, and what was overlooked or judged wrongly. The "
            "training leads read this at once; who looks again reads it after scoring; who "
            "decided reads it with the outcome."
        ),
        _l("Write what should be looked at again, and why."),
    )


class ReviewPhotoRows(PhotoRows):
    """The rows of photographs that a trainee hands in with a review: of the work alone."""

    def __init__(self, request: HttpRequest, person: Person, key: uuid.UUID) -> None:
        super().__init__(request, person, key)
        for row in self.rows:
            del row.fields["people"]

    def photographs(self) -> list[NewPhoto]:
        """Return what is to be kept; only of valid rows."""
        return [
            NewPhoto(row.photograph, row.cleaned_data["caption"])
            for row in self.rows
            if row.photograph is not None
        ]


class GiveForm(forms.Form):
    """Who looks at the decision again."""

    reviewer = forms.TypedChoiceField(
        label=_l("Who looks at it again"),
        coerce=int,
        widget=forms.RadioSelect,
        error_messages={
            "required": _l("Choose who looks at it again."),
            "invalid_choice": _l("This person cannot look at it again now. Choose another one."),
        },
    )

    def __init__(self, *args: Any, choices: Sequence[Candidate], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        field = self.fields["reviewer"]
        assert isinstance(field, forms.TypedChoiceField)
        field.choices = [(each.person.pk, self._label(each)) for each in choices]

    @staticmethod
    def _label(each: Candidate) -> str:
        if each.leads:
            return _("{name}, training lead").format(name=each.person)
        return _("{name}, instructor").format(name=each.person)


class HandBackForm(forms.Form):
    """Why a reviewer hands a review back."""

    reason = reason_field(
        _l("Why you hand it back"),
        _l("The training leads read it."),
        _l("Write why. The training leads read it."),
    )


class NotShownForm(forms.Form):
    """Why the evidence does not show a criterion, or none of those that are left."""

    score_id = forms.UUIDField(widget=forms.HiddenInput, required=False)
    note = reason_field(
        _l("Why the evidence does not show it"),
        _l("Such as: no photograph, or it was taken from too far away."),
        _l("Write why the evidence does not show it."),
        rows=2,
    )


class ReadOnSiteForm(forms.Form):
    """Which of the values that were read on the piece the reviewer accepts."""

    observation_id = forms.UUIDField(widget=forms.HiddenInput)
    given = forms.TypedChoiceField(
        coerce=int,
        widget=forms.RadioSelect,
        error_messages={
            "required": _l("Choose what you accept."),
            "invalid_choice": _l("Choose one of those that stand here."),
        },
    )
    note = forms.CharField(
        label=_l("Note"), required=False, max_length=LONGEST, widget=forms.Textarea
    )

    def __init__(
        self,
        data: Mapping[str, Any] | None = None,
        *,
        given: Sequence[Mapping[str, Any]],
        initial: Mapping[str, Any] | None = None,
    ) -> None:
        super().__init__(data, initial={"observation_id": uuid.uuid4(), **(initial or {})})
        self.values = given
        field = self.fields["given"]
        assert isinstance(field, forms.TypedChoiceField)
        field.choices = [(index, str(index)) for index in range(len(given))]

    def value(self) -> Mapping[str, Any]:
        """Return the value accepted; only of a valid form."""
        chosen: int = self.cleaned_data["given"]
        return self.values[chosen]


class AnswerForm(SignOffForm):
    """What comes of a review, with the reasons, signed with the password."""

    outcome = forms.ChoiceField(
        label=_l("What comes of it"),
        widget=forms.RadioSelect,
        error_messages={
            "required": _l("Choose what comes of the review."),
            "invalid_choice": _l("Choose what comes of the review."),
        },
    )
    answer = reason_field(
        _l("The reasons"),
        _l("The trainee, who decided and the training leads read this."),
        _l("Write the reasons. The trainee reads them."),
        rows=6,
    )
    field_order = ("outcome", "answer", "password")

    def __init__(
        self, *args: Any, request: HttpRequest, signer: Person, changed_to: str, **kwargs: Any
    ) -> None:
        """``changed_to`` is the result by the reviewer's scores, in words; empty if none stands."""
        super().__init__(*args, request=request, signer=signer, incomplete=False, **kwargs)
        del self.fields["note"]
        outcome = self.fields["outcome"]
        assert isinstance(outcome, forms.ChoiceField)
        choices = [(Outcome.UPHELD.value, _("Upheld: the result stands as it is"))]
        if changed_to:
            label = _("Changed: your scores count; the result is then: {result}")
            choices.append((Outcome.CHANGED.value, label.format(result=changed_to)))
        choices.append(
            (
                Outcome.VOID.value,
                _(
                    "Attempt void: how it was run or recorded lets nobody decide; it counts "
                    "neither for nor against the trainee"
                ),
            )
        )
        outcome.choices = choices
