"""Preparing a panel, inviting judges, closing rounds."""

from typing import Any

from django import forms
from django.utils.text import format_lazy
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy as _l
from django.utils.translation import gettext_noop as N_

from assessments.actions.panel.guards import LONGEST_TEXT
from assessments.actions.panel.rounds import LONGEST_DISCUSSION
from assessments.models import Panel
from assessments.queries.panel.runs import source_runs
from training.forms.runs import NOTHING_CHOSEN
from training.models import CourseRun, Program

METHODS = {
    Panel.Method.ANGOFF: N_(
        "for each criterion, how many of 100 just-meeting masons would meet it"
    ),
    Panel.Method.EBEL: N_(
        "criteria sorted by relevance and difficulty, then a share for each group"
    ),
    Panel.Method.BORDERLINE: N_("finished pieces of earlier runs, each rated from 1 to 5"),
    Panel.Method.CONTRASTING: N_(
        "finished pieces of earlier runs, sorted into competent and not yet"
    ),
}


class PanelForm(forms.Form):
    """How a panel judges; what it holds is fixed once the first round opens."""

    method = forms.ChoiceField(
        choices=[
            (method.value, format_lazy("{}: {}", method.label, _l(METHODS[method])))
            for method in Panel.Method
        ],
        widget=forms.RadioSelect,
        initial=Panel.Method.ANGOFF,
        error_messages={"required": _l("Choose a method.")},
    )
    statistic = forms.ChoiceField(
        label=_l("How the judges are summed up"),
        choices=Panel.Statistic.choices,
        initial=Panel.Statistic.MEAN,
        help_text=_l(
            "The mean counts everybody alike; the median and the trimmed mean heed single "
            "far estimates less. Chosen before anything is estimated."
        ),
        error_messages={"required": NOTHING_CHOSEN},
    )
    just_meets = forms.CharField(
        label=_l("The mason who just meets the standard"),
        max_length=LONGEST_TEXT,
        widget=forms.Textarea(attrs={"rows": 6}),
        help_text=_l(
            "What this mason does reliably, what only sometimes, what not yet. Every judge "
            "reads it beside every question."
        ),
        error_messages={"required": _l("Describe the mason who just meets the standard.")},
    )
    sense_check = forms.BooleanField(
        label=_l("Ask for a sense check too"),
        required=False,
        help_text=_l(
            "Each judge also says the lowest and highest cut, and the lowest and highest "
            "share of trainees not yet meeting it, that would be reasonable. Needs earlier scores."
        ),
    )
    sources = forms.ModelMultipleChoiceField(
        CourseRun.objects.none(),
        label=_l("Earlier runs whose scores are used"),
        required=False,
        widget=forms.CheckboxSelectMultiple,
        help_text=_l(
            "Only for borderline regression, contrasting groups and the sense check. The "
            "standard that comes of it never applies to these runs."
        ),
        error_messages={"invalid_choice": _l("Choose runs from the list.")},
    )

    def __init__(self, *args: Any, program: Program, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        field = self.fields["sources"]
        assert isinstance(field, forms.ModelMultipleChoiceField)
        field.queryset = source_runs(program).select_related("program", "site")
        if not field.queryset.exists():
            field.help_text = _(
                "No run of this program has a decided attempt yet: choose Angoff or Ebel."
            )


class InviteForm(forms.Form):
    """The person to be asked."""

    full_name = forms.CharField(
        label=_l("Full name"),
        max_length=200,
        error_messages={"required": _l("Write the person's full name.")},
    )
    email = forms.CharField(
        label=_l("E-mail address"),
        max_length=254,
        widget=forms.EmailInput,
        help_text=_l("The invitation goes there, and the judge signs in with it."),
        error_messages={"required": _l("Write the address that the invitation goes to.")},
    )


class ReasonForm(forms.Form):
    """Why something ends."""

    reason = forms.CharField(
        label=_l("Reason"),
        max_length=LONGEST_TEXT,
        widget=forms.Textarea(attrs={"rows": 4}),
        help_text=_l("It stays on record."),
        error_messages={"required": _l("Write why: it stays on record.")},
    )


class CloseRoundForm(forms.Form):
    """What was discussed, and that gaps are known."""

    discussion = forms.CharField(
        label=_l("What was discussed"),
        required=False,
        max_length=LONGEST_DISCUSSION,
        widget=forms.Textarea(attrs={"rows": 5}),
        help_text=_l("The judges read it when the round is closed. No names: judges are letters."),
    )
    accept_gaps = forms.BooleanField(
        label=_l("Close with gaps: what is missing stays missing"),
        required=False,
        help_text=_l("Only needed while entries are missing. Nothing is filled in for anybody."),
    )
