"""manage.py retention: apply what fixtures/retention.yaml says is over."""

from argparse import ArgumentParser
from typing import Any

from django.core.management.base import BaseCommand
from django.utils import timezone

from training.privacy.retention import TABLE, apply_retention


class Command(BaseCommand):
    """Delete what is over; let it run once a day."""

    help = (
        f"Delete what {TABLE} says is over, and take files and texts out of rows that stay. "
        "Let it run once a day."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        """Take whether only to look."""
        parser.add_argument("--dry-run", action="store_true", help="list it, delete nothing")

    def handle(self, *args: Any, dry_run: bool, **options: Any) -> None:
        """Tell of each kind of data how many rows were over, and how many files."""
        total = 0
        for entry, over in apply_retention(now=timezone.now(), only_look=dry_run):
            files = f", {len(over.files)} files" if over.files else ""
            self.stdout.write(f"{entry.key}: {over.rows}{files} ({entry.days} days)")
            total += over.rows
        rows = "1 row" if total == 1 else f"{total} rows"
        self.stdout.write(f"{rows} would go." if dry_run else f"{rows} gone.")
