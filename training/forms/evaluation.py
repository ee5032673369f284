"""What trainees say after a run, complaints, and changes decided."""

from typing import Any

from django import forms
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy as _l

from training.actions.complaints import LONGEST
from training.forms.runs import day_field
from training.models import Complaint, CourseRun, Person
from training.queries.complaints import may_be_concerned
from training.reaction_form import LONGEST_TEXT, QUESTIONS, SCALE, STATEMENTS


class ReactionForm(forms.Form):
    """A number for each statement, and own words."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for each in STATEMENTS:
            self.fields[each.key] = forms.TypedChoiceField(
                label=_(each.words),
                choices=[(value, _(words)) for value, words in SCALE],
                coerce=int,
                widget=forms.RadioSelect,
                error_messages={"required": _("Choose a number from 1 to 5.")},
            )
        for each in QUESTIONS:
            self.fields[each.key] = forms.CharField(
                label=_(each.words),
                required=False,
                max_length=LONGEST_TEXT,
                widget=forms.Textarea(attrs={"rows": 4}),
                help_text=_("You may leave this empty. Name nobody, and not yourself."),
            )

    @property
    def ratings(self) -> dict[str, int]:
        """The numbers chosen, by key."""
        return {each.key: self.cleaned_data[each.key] for each in STATEMENTS}

    @property
    def texts(self) -> dict[str, str]:
        """The own words, by key."""
        return {each.key: self.cleaned_data[each.key] for each in QUESTIONS}


class ConcernedField(forms.ModelChoiceField):  # type: ignore[type-arg]
    """Whom a complaint is about, by name."""

    def label_from_instance(self, obj: Person) -> str:
        """Return the name."""
        return obj.full_name


class ComplaintForm(forms.Form):
    """A complaint: what it is about, whom, and the words."""

    kind = forms.ChoiceField(
        label=_l("What is it about?"),
        choices=Complaint.Kind.choices,
        widget=forms.RadioSelect,
        error_messages={"required": _l("Choose what the complaint is about.")},
    )
    concerns = ConcernedField(
        Person.objects.none(),
        label=_l("Is it about one of these people?"),
        required=False,
        empty_label=_l("No, or somebody who is not listed"),
        help_text=_l(
            "That person neither sees the complaint nor answers it, and is not told of it. Name "
            "anybody else in your own words."
        ),
        error_messages={
            "invalid_choice": _l(
                "Choose somebody from the list, or name the person in your own words below."
            )
        },
    )
    text = forms.CharField(
        label=_l("Your complaint"),
        max_length=LONGEST,
        widget=forms.Textarea(attrs={"rows": 8}),
        help_text=_l("What happened, when, and what you ask for."),
        error_messages={"required": _l("Write what happened, when, and what you ask for.")},
    )

    def __init__(self, *args: Any, run: CourseRun, maker: Person, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        concerns = self.fields["concerns"]
        assert isinstance(concerns, ConcernedField)
        concerns.queryset = may_be_concerned(run, maker)
        self.initial.setdefault("kind", Complaint.Kind.GENERAL)


class OutsideContactForm(forms.Form):
    """Who outside the provider hears complaints that no lead can answer."""

    name = forms.CharField(
        label=_l("Name"),
        max_length=150,
        required=False,
        help_text=_l("A person or an office: a board member, an ombudsman, a trade association."),
    )
    email = forms.CharField(
        label=_l("E-mail address"), max_length=140, required=False, widget=forms.EmailInput
    )


class AnswerForm(forms.Form):
    """The answer to a complaint."""

    answer = forms.CharField(
        label=_l("Answer"),
        max_length=LONGEST,
        widget=forms.Textarea(attrs={"rows": 8}),
        help_text=_l("What was found, and what was done. Whoever complained reads it."),
        error_messages={"required": _l("Write what was found and what was done.")},
    )


class ChangeForm(forms.Form):
    """A change that was decided."""

    text = forms.CharField(
        label=_l("What changes"),
        widget=forms.Textarea(attrs={"rows": 3}),
        error_messages={"required": _l("Write what is to change.")},
    )
    grounds = forms.CharField(
        label=_l("On what grounds"),
        widget=forms.Textarea(attrs={"rows": 3}),
        help_text=_l("The figure, answer, complaint or event that led to it."),
        error_messages={
            "required": _l("Write the grounds: which figure, answer or event led to it.")
        },
    )
    decided_on = day_field(_l("Decided on"))
    due_on = day_field(_l("To be done by"), _l("Leave it empty where no day is set."))

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["due_on"].required = False
        self.initial.setdefault("decided_on", timezone.localdate())


class DoneForm(forms.Form):
    """The day on which a change was made."""

    done_on = day_field(_l("Done on"))

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.initial.setdefault("done_on", timezone.localdate())
