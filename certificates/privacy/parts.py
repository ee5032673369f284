"""What this app holds about a person."""

from django.utils.translation import gettext_noop as N_

from certificates.models import (
    CalendarFeed,
    Confirmation,
    Credential,
    DayPlace,
    OwnLink,
    Record,
    RecordLook,
    Reminder,
    StatusChange,
    SubmittedRecord,
)
from training.privacy.own_parts import WROTE
from training.privacy.parts import Part, not_about, personal_data

OF_THE_RECORD = N_(
    "It says who acted on a record, and is exported for its holder; that the person did so is "
    "exported as log."
)

personal_data(
    Part("records", N_("Your records, with their PDFs."), Record, ("holder",)),
    Part("credentials", N_("Their open form."), Credential, ("record__holder",)),
    Part("record_changes", N_("What became of them."), StatusChange, ("record__holder",)),
    Part(
        "confirmations",
        N_("What employers confirmed of your work."),
        Confirmation,
        ("attempt__enrolment__person",),
    ),
    Part("submitted", N_("The submittals that name them."), SubmittedRecord, ("record__holder",)),
    Part(
        "day_places",
        N_("The days on which you had a post."),
        DayPlace,
        ("person",),
        leave=("token",),
    ),
    Part(
        "own_links",
        N_("Links by which you show your records."),
        OwnLink,
        ("holder",),
        leave=("token_sha256",),
    ),
    Part("looks", N_("Who looked at your records."), RecordLook, ("record__holder",)),
    Part("reminders", N_("What you were reminded of."), Reminder, ("person", "record__holder")),
    Part(
        "crew_calendars",
        N_("Addresses at which a calendar reads a crew's lapses."),
        CalendarFeed,
        ("person",),
        leave=("token_sha256",),
    ),
)
not_about(
    N_("The row is about a holder's record and exported for that holder, who is told who looked."),
    "certificates.RecordLook.person",
)
not_about(
    OF_THE_RECORD,
    "certificates.Record.issued_by",
    "certificates.WithdrawalProposal.by",
    "certificates.WithdrawalAnswer.by",
    "certificates.StatusChange.by",
    "certificates.StatusChange.second",
    "certificates.Confirmation.signed_by",
    "certificates.Retraction.by",
)
not_about(
    WROTE,
    "certificates.KeyCompromise.by",
    "certificates.Project.created_by",
    "certificates.DayPlace.placed_by",
    "certificates.IssueJob.asked_by",
    "certificates.Submittal.submitted_by",
    "certificates.ShareLink.created_by",
    "certificates.ShareLink.revoked_by",
)
