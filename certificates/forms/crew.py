"""Which rows of the crew to show."""

from typing import Any

from django import forms

from certificates.queries.crew import AWAITS_RECORD, NO_RESULT, NOTHING
from certificates.queries.standing import (
    CURRENT,
    DOUBTFUL,
    LAPSED,
    LAPSES_SOON,
    SUSPENDED,
    WITHDRAWN,
)

WORDS = {
    CURRENT: "Current",
    LAPSES_SOON: "Lapses soon",
    LAPSED: "Lapsed",
    SUSPENDED: "Suspended",
    WITHDRAWN: "Withdrawn",
    DOUBTFUL: "Doubtful",
    AWAITS_RECORD: "Met, record not issued yet",
    "not_yet_met": "Not yet met",
    "incomplete": "Incomplete",
    NO_RESULT: "No result yet",
    NOTHING: "Nothing to show",
}
NOT_OFFERED = "“%(value)s” is not in this list: choose one that is. Everything is shown meanwhile."


class CrewFilter(forms.Form):
    """A program of the crew's and a word, both optional."""

    program = forms.ChoiceField(required=False, error_messages={"invalid_choice": NOT_OFFERED})
    standing = forms.ChoiceField(
        required=False,
        choices=[("", "Any"), *WORDS.items()],
        error_messages={"invalid_choice": NOT_OFFERED},
    )

    def __init__(self, *args: Any, programs: list[tuple[str, str]], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        field = self.fields["program"]
        assert isinstance(field, forms.ChoiceField)
        field.choices = [("", "Any"), *((code, f"{title} ({code})") for code, title in programs)]
