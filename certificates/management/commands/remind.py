"""manage.py remind: tell people ahead of what lapses or wants confirming."""

from typing import Any

from django.core.management.base import BaseCommand, CommandError

from certificates.actions.reminders import send_reminders


class Command(BaseCommand):
    """For a timer that runs once a day; a day that was missed is made up for."""

    help = (
        "Send holders, and the managers of the contractors that employ them, one e-mail each "
        "about records that lapse within 90, 30 or 7 days and confirmations due within 30 or 7. "
        "Run it once a day. Running it again sends nothing twice."
    )

    def handle(self, *args: Any, **options: Any) -> None:
        """Send, and say how many."""
        sent = send_reminders()
        mails = "1 e-mail" if sent.mails == 1 else f"{sent.mails} e-mails"
        self.stdout.write(f"{mails} sent, telling of {sent.reminders} in all.")
        if sent.failed:
            raise CommandError(
                f"{sent.failed} could not be sent; the log says why. The next run tries again."
            )
