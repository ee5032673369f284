"""manage.py sweep_files: remove stored files that no row names."""

from argparse import ArgumentParser
from typing import Any

from django.core.management.base import BaseCommand

from certificates.actions.sweep import sweep_files


class Command(BaseCommand):
    """Remove what a killed process left in the storage; a worker does the same once a day."""

    help = (
        "Remove the files of what never came to be: a process was killed between storing the file "
        "and saving its row. Files younger than an hour are left alone."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        """Take whether only to look."""
        parser.add_argument("--dry-run", action="store_true", help="name them, remove nothing")

    def handle(self, *args: Any, dry_run: bool, **options: Any) -> None:
        """Name each file, then say how many."""
        names = sweep_files(only_look=dry_run)
        for name in names:
            self.stdout.write(name)
        files = "1 file" if len(names) == 1 else f"{len(names)} files"
        self.stdout.write(f"{files} would be removed." if dry_run else f"{files} removed.")
