"""manage.py import_events: what a device saved as a file because it could not send."""

from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.core.exceptions import PermissionDenied
from django.core.management.base import BaseCommand, CommandError

from assessments.actions.site.batches import ASIDE
from assessments.actions.site.imports import MAX_BYTES, import_events, read_events_file
from training.errors import Refused
from training.models import Person


class Command(BaseCommand):
    """Read in one file; every event that was not stored is printed with its reason."""

    help = (
        "Read in the events that a device saved as a file (bankermark/events/1). Each is taken in "
        "once, however often the file is read; what cannot be taken in is kept aside."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        """Take the file and who reads it in."""
        parser.add_argument("file", type=Path)
        parser.add_argument(
            "--as",
            dest="email",
            required=True,
            metavar="EMAIL",
            help="the training lead, or the assessor, who reads it in",
        )

    def handle(self, *args: Any, file: Path, email: str, **options: Any) -> None:
        """Read it in and say what became of it."""
        actor = Person.objects.filter(email=email.strip().lower()).first()
        if actor is None:
            raise CommandError(f"Nobody signs in as {email}.")
        try:
            with file.open("rb") as source:
                data = source.read(MAX_BYTES + 1)
        except OSError as error:
            raise CommandError(f"{file} cannot be read: {error.strerror}.") from None
        try:
            imported = import_events(actor=actor, document=read_events_file(data))
        except Refused as refused:
            raise CommandError(refused.message) from None
        except PermissionDenied as denied:
            raise CommandError(str(denied)) from None
        for each in imported.results:
            if each.result == ASIDE:
                self.stdout.write(f"Set aside: event {each.place + 1}: {each.sentence}")
        counts = imported.counts
        self.stdout.write(
            f"{imported.assessor}: {counts['stored']} stored, {counts['already']} already there, "
            f"{counts['aside']} set aside."
        )
