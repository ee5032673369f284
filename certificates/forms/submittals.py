"""How each gap is met, and whom a link is for."""

from collections.abc import Iterable
from typing import Any

from django import forms
from django.utils.text import format_lazy
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy as _l
from django.utils.translation import gettext_noop as N_

from certificates.actions.links import (
    DAYS,
    FEWEST_DAYS,
    LONG_RECIPIENT,
    LONGEST_RECIPIENT,
    MOST_DAYS,
    NO_RECIPIENT,
    WRONG_DAYS,
)
from certificates.actions.submittals import GAP_FIELD, LONGEST_WORDS, MET_BY, too_long
from certificates.submittal.document import Gap
from certificates.wording import day
from training.said import said

OPEN_AGAIN = N_("This page was sent incompletely. Open it again.")


class SubmitForm(forms.Form):
    """A field for each gap; ``seen`` is the digest of the statement that is shown.

    ``left_over`` holds what was written for gaps that are no more (``anew``).
    """

    seen = forms.CharField(
        max_length=64, widget=forms.HiddenInput, error_messages={"required": _l(OPEN_AGAIN)}
    )

    def __init__(self, *args: Any, gaps: Iterable[Gap], seen: str, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["seen"].initial = seen
        self.gaps = tuple(gaps)
        self.left_over: list[str] = []
        for gap in self.gaps:
            self.fields[GAP_FIELD.format(gap.key)] = forms.CharField(
                label=said(gap.sentence),
                help_text=_("{days_of}. Write how this gap is met; the owner reads it.").format(
                    days_of=days_of(gap)
                ),
                max_length=LONGEST_WORDS,
                widget=forms.Textarea(attrs={"rows": 3}),
                error_messages={"required": _(MET_BY), "max_length": too_long()},
            )

    @property
    def met_by(self) -> dict[str, str]:
        """The words for each gap by its key, once the form is valid."""
        return {gap.key: self.cleaned_data[GAP_FIELD.format(gap.key)] for gap in self.gaps}

    def anew(self, gaps: Iterable[Gap], seen: str) -> "SubmitForm":
        """Return the form of another statement, with what was written here and no errors yet."""
        form = SubmitForm(gaps=gaps, seen=seen)
        prefix = GAP_FIELD.format("")
        for name, text in self.data.items():
            if not name.startswith(prefix) or not str(text).strip():
                continue
            if name in form.fields:
                form.fields[name].initial = text
            else:
                form.left_over.append(str(text)[:LONGEST_WORDS])
        return form


class LinkForm(forms.Form):
    """Whom a link is for, and for how many days."""

    recipient = forms.CharField(
        label=_l("Whom is the link for?"),
        max_length=LONGEST_RECIPIENT,
        help_text=_l(
            "A name, an office or an e-mail address. Make one for each reader, so that you "
            "see who opened it and can revoke one without the others."
        ),
        widget=forms.TextInput(attrs={"autocomplete": "off"}),
        error_messages={"required": _l(NO_RECIPIENT), "max_length": LONG_RECIPIENT},
    )
    days = forms.IntegerField(
        label=_l("Valid for so many days"),
        initial=DAYS,
        min_value=FEWEST_DAYS,
        max_value=MOST_DAYS,
        help_text=format_lazy(
            _l(
                "From {first} to {last}, counted from tomorrow; it ends with the last of them, "
                "in the project's time zone."
            ),
            first=FEWEST_DAYS,
            last=MOST_DAYS,
        ),
        error_messages=dict.fromkeys(("required", "invalid", "min_value", "max_value"), WRONG_DAYS),
    )


def days_of(gap: Gap) -> str:
    """Return the days of a gap as a page tells them."""
    return "; ".join(
        day(first)
        if first == last
        else _("{first} to {last}").format(first=day(first), last=day(last))
        for first, last in gap.spans
    )
