"""Decide an attempt from two files, without a database."""

import sys
from argparse import ArgumentParser
from typing import Any

from django.core.management.base import BaseCommand

from assessments.engine.cli import main


class Command(BaseCommand):
    """Prints the decision as JSON; exit codes as ``python -m assessments.engine`` has them."""

    help = "Decide from a standard and its observations, both JSON files, without a database."
    requires_system_checks = []

    def add_arguments(self, parser: ArgumentParser) -> None:
        """Take the two files."""
        parser.add_argument("standard", help="the standard, as JSON")
        parser.add_argument("observations", help="the observations, as JSON")

    def handle(self, *args: Any, **options: Any) -> None:
        """Decide, and leave with the engine's exit code where it is not 0."""
        code = main([options["standard"], options["observations"]])
        if code:
            sys.exit(code)
