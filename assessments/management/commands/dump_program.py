"""manage.py dump_program: a program as its file."""

from argparse import ArgumentParser
from typing import Any

from django.core.management.base import CommandError

from assessments.management.choice import (
    ProgramCommand,
    add_provider_argument,
    chosen_program,
)
from assessments.programfile.writing import write_program
from assessments.queries.program_document import program_document
from training.errors import Refused


class Command(ProgramCommand):
    """Print a program in the canonical layout of its file."""

    help = "Print a program as the file that loads it again (fixtures/PROGRAM_FORMAT.md)."

    def add_arguments(self, parser: ArgumentParser) -> None:
        """Take the program's code, version and provider."""
        super().add_arguments(parser)
        add_provider_argument(parser)

    def handle(
        self, *args: Any, code: str, version: int | None, provider: str | None, **options: Any
    ) -> None:
        """Print it."""
        program = chosen_program(code, version, provider)
        try:
            self.stdout.write(write_program(program_document(program)), ending="")
        except Refused as refused:
            raise CommandError(refused.message) from None
