"""What of a project's coverage to look at."""

from django import forms

MEANWHILE = "The page shows {} meanwhile."


def _day(label: str, text: str, meanwhile: str) -> forms.DateField:
    return forms.DateField(
        label=label,
        required=False,
        input_formats=["%Y-%m-%d"],
        widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"),
        help_text=text,
        error_messages={
            "invalid": f"Write a day as 2027-03-01. {MEANWHILE.format(meanwhile)}",
        },
    )


class CoverageForm(forms.Form):
    """From which day on, whether confirmations go on, and the day to look at closely."""

    AS_IT_STANDS = ""
    CONFIRMING = "confirming"

    at = _day(
        "From the day",
        "Empty is today. A day in the past is shown as it was known then.",
        "today",
    )
    ahead = forms.ChoiceField(
        label="Confirmations",
        required=False,
        choices=[
            (AS_IT_STANDS, "As things stand"),
            (CONFIRMING, "Everybody goes on being confirmed"),
        ],
        error_messages={
            "invalid_choice": "“%(value)s” is not in this list: choose one that is. "
            "The page shows how things stand meanwhile."
        },
    )
    day = _day(
        "A day to look at closely",
        "Who fills which post, and who could fill what is empty. Without it, the first day short.",
        "the first day short",
    )
