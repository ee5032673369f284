"""What this app holds about a person."""

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

OF_THE_RECORD = (
    "It says who acted on a record, and is exported for its holder; that the person did so is "
    "exported as log."
)

personal_data(
    Part("records", "Your records, with their PDFs.", Record, ("holder",)),
    Part("credentials", "Their open form.", Credential, ("record__holder",)),
    Part("record_changes", "What became of them.", StatusChange, ("record__holder",)),
    Part(
        "confirmations",
        "What employers confirmed of your work.",
        Confirmation,
        ("attempt__enrolment__person",),
    ),
    Part("submitted", "The submittals that name them.", SubmittedRecord, ("record__holder",)),
    Part(
        "day_places", "The days on which you had a post.", DayPlace, ("person",), leave=("token",)
    ),
    Part(
        "own_links",
        "Links by which you show your records.",
        OwnLink,
        ("holder",),
        leave=("token_sha256",),
    ),
    Part("looks", "Who looked at your records.", RecordLook, ("record__holder",)),
    Part("reminders", "What you were reminded of.", Reminder, ("person", "record__holder")),
    Part(
        "crew_calendars",
        "Addresses at which a calendar reads a crew's lapses.",
        CalendarFeed,
        ("person",),
        leave=("token_sha256",),
    ),
)
not_about(
    "The row is about a holder's record and exported for that holder, who is told who looked.",
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
