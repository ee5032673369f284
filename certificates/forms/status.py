"""What a lead writes about a record's status."""

from typing import Any

from django import forms
from django.contrib.auth import authenticate
from django.http import HttpRequest
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy as _l

from certificates.models.status import LONGEST_REASON
from training.models import Person
from training.names import LONGEST_NAME


class ReasonForm(forms.Form):
    """The reason for a change; ``seen`` is how much had happened when the page was shown."""

    reason = forms.CharField(
        max_length=LONGEST_REASON,
        widget=forms.Textarea(attrs={"rows": 3}),
        help_text=_l("It stays with the record; the holder reads it."),
        error_messages={
            "required": _l("Write why: it stays with the record."),
            "max_length": _l("This has %(show_value)d characters: %(limit_value)d at most."),
        },
    )
    seen = forms.IntegerField(
        widget=forms.HiddenInput,
        error_messages={
            "required": _l("This page was sent incompletely. Open it again."),
            "invalid": _l("This page was sent changed. Open it again."),
        },
    )

    def __init__(self, *args: Any, seen: int, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["seen"].initial = seen


class ProposeForm(ReasonForm):
    """The reason for a withdrawal, and whether the record is suspended while it waits."""

    suspend = forms.BooleanField(
        required=False,
        label=_l("Suspend the record at once, until the second lead has answered"),
    )
    field_order = ("reason", "suspend", "seen")


class AnswerForm(ReasonForm):
    """What the second lead answers; the note is needed to decline."""

    note = forms.CharField(
        required=False,
        max_length=LONGEST_REASON,
        label=_l("Note"),
        widget=forms.Textarea(attrs={"rows": 3}),
        help_text=_l(
            "Needed to decline. The leads read it; the holder too, where declining "
            "lifts a suspension."
        ),
        error_messages={
            "max_length": _l("This has %(show_value)d characters: %(limit_value)d at most.")
        },
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        del self.fields["reason"]


class CorrectForm(ReasonForm):
    """The right name of the holder, and whether the person's own name is corrected too."""

    holder_name = forms.CharField(
        label=_l("Name of the holder, as it should stand on the record"),
        max_length=LONGEST_NAME,
        widget=forms.TextInput(attrs={"autocomplete": "off"}),
        error_messages={
            "required": _l("Write the person's full name, as it should stand on the record."),
            "max_length": _l("This has %(show_value)d characters: %(limit_value)d at most."),
        },
    )
    account = forms.BooleanField(
        required=False,
        initial=True,
        label=_l("Correct the person's own name too, so that it is right on the next record"),
    )
    field_order = ("holder_name", "account", "reason", "seen")

    def __init__(self, *args: Any, holder_name: str, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["holder_name"].initial = holder_name
        self.fields["reason"].help_text = _("It stays in the log.")


class CompromiseForm(forms.Form):
    """From when the key was not safe, why, and the password of who says so."""

    doubtful_from = forms.DateTimeField(
        label=_l("Not safe from"),
        widget=forms.DateTimeInput(attrs={"type": "datetime-local"}, format="%Y-%m-%dT%H:%M"),
        input_formats=["%Y-%m-%dT%H:%M", "%Y-%m-%d %H:%M", "%Y-%m-%dT%H:%M:%S"],
        error_messages={
            "required": _l("Write from when on others may have had the key."),
            "invalid": _l("Write day and time such as 2026-11-20 14:30."),
        },
    )
    reason = forms.CharField(
        label=_l("What happened"),
        max_length=LONGEST_REASON,
        widget=forms.Textarea(attrs={"rows": 3}),
        help_text=_l("It stays with the records; their holders read it."),
        error_messages={
            "required": _l("Write what happened: it stays with the records."),
            "max_length": _l("This has %(show_value)d characters: %(limit_value)d at most."),
        },
    )
    password = forms.CharField(
        label=_l("Your password"),
        help_text=_l("Giving up a key cannot be undone."),
        strip=False,
        max_length=200,
        widget=forms.PasswordInput(attrs={"autocomplete": "current-password"}),
        error_messages={"required": _l("Write your password: this cannot be undone.")},
    )

    def __init__(self, *args: Any, request: HttpRequest, lead: Person, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.request = request
        self.lead = lead
        zone = timezone.get_current_timezone_name()
        self.fields["doubtful_from"].help_text = _("Day and time in {zone}.").format(zone=zone)

    def clean_password(self) -> str:
        """Check the password, as signing in does; wrong ones count against the same limit."""
        password: str = self.cleaned_data["password"]
        known = authenticate(self.request, username=self.lead.email, password=password)
        if known == self.lead:
            return password
        if getattr(self.request, "axes_locked_out", False):
            raise forms.ValidationError(
                _("Too many wrong passwords from where you are. Wait 15 minutes, then try again.")
            )
        raise forms.ValidationError(_("This is not your password. Nothing was done."))
