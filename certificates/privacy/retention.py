"""What of this app is over when."""

from datetime import datetime

from certificates.models import CalendarFeed, Reminder, WrongNumber
from certificates.models.guesses import SentFile
from training.privacy.retention import Over, deleted, retention_rule


@retention_rule("reminders")
def reminders(before: datetime, only_look: bool) -> Over:
    """Reminders of days long past."""
    return deleted(Reminder.objects.filter(due_on__lt=before.date()), only_look)


@retention_rule("calendars")
def calendars(before: datetime, only_look: bool) -> Over:
    """Addresses of a crew's lapses that were taken back."""
    return deleted(CalendarFeed.objects.filter(revoked_at__lt=before), only_look)


@retention_rule("checks")
def checks(before: datetime, only_look: bool) -> Over:
    """Wrong numbers and files sent, counted."""
    rows = (WrongNumber.objects.filter(at__lt=before), SentFile.objects.filter(at__lt=before))
    return Over(sum(deleted(each, only_look).rows for each in rows))
