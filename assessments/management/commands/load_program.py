"""manage.py load_program: a program from its file."""

from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from assessments.actions.programs import load_program_file
from assessments.management.choice import add_lead_arguments, chosen_lead
from assessments.programfile.yamltext import MAX_BYTES
from assessments.queries.coverage import coverage
from training.errors import Refused


class Command(BaseCommand):
    """Load one program file; everything that is wrong in it is printed with its line."""

    help = (
        "Load a program from its file (fixtures/PROGRAM_FORMAT.md): create that version, or "
        "replace its parts as long as no standard of it is sealed. All of the file or nothing."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        """Take the file and who loads it."""
        parser.add_argument("file", type=Path)
        add_lead_arguments(parser)

    def handle(
        self, *args: Any, file: Path, lead: str | None, provider: str | None, **options: Any
    ) -> None:
        """Load it, and say what that changed and what is not covered yet."""
        actor, where = chosen_lead(lead, provider)
        try:
            with file.open("rb") as source:
                data = source.read(MAX_BYTES + 1)
        except OSError as error:
            raise CommandError(f"{file} cannot be read: {error.strerror}.") from None
        try:
            loaded = load_program_file(actor=actor, provider=where, source=data, filename=str(file))
        except Refused as refused:
            raise CommandError(refused.message) from None
        self.stdout.write(f"{loaded.program}: {loaded.change}.")
        for gap in coverage(loaded.program).gaps:
            self.stdout.write(f"Before sealing: {gap.sentence}")
