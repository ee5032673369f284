"""manage.py verify_log: prove that nobody changed the log."""

from argparse import ArgumentParser
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from training.actions.log import verify_log
from training.models import LogEntry


class Command(BaseCommand):
    """Verify the hash chain of the log from its first row."""

    help = (
        "Verify the log's hash chain; exit with 1 and the first broken row when it does not "
        "hold. A chain cannot tell that its end was cut off: note the last row that this "
        "command prints somewhere else, and give it later with --noted."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        """Take a row that was noted earlier."""
        parser.add_argument(
            "--noted",
            metavar="ROW:DIGEST",
            help="a last row that this command printed before; it must still be there",
        )

    def handle(self, *args: Any, noted: str | None = None, **options: Any) -> None:
        """Verify, and print the number of rows and the last one."""
        broken = verify_log()
        if broken:
            raise CommandError(f"The log is broken at row {broken.seq}: {broken.reason}.")
        if noted:
            self._still_there(noted)
        last = LogEntry.objects.order_by("-seq").first()
        if last is None:
            self.stdout.write("The log is empty.")
            return
        rows = "1 row holds" if last.seq == 1 else f"all {last.seq} rows hold"
        self.stdout.write(f"The log is whole: {rows}.\nLast row: {last.seq}:{last.digest}")

    def _still_there(self, noted: str) -> None:
        number, _, digest = noted.partition(":")
        if not number.isascii() or not number.isdigit() or len(number) > 18 or len(digest) != 64:
            raise CommandError("--noted is a row's number, a colon and its digest of 64 letters.")
        found = LogEntry.objects.filter(seq=int(number)).first()
        if found is None:
            raise CommandError(f"Row {number} was noted, and the log now ends before it.")
        if found.digest != digest.lower():
            raise CommandError(f"Row {number} is not the one noted: the log was written anew.")
