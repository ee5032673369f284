"""manage.py seal_standard: fix the passing standard of a program for good."""

from argparse import ArgumentParser
from typing import Any

from django.core.management.base import CommandError

from assessments.actions.sealing import seal_standard
from assessments.management.choice import (
    ProgramCommand,
    add_lead_arguments,
    chosen_lead,
    chosen_program,
)
from training.errors import Refused


class Command(ProgramCommand):
    """Seal the standard of a program as it is loaded now."""

    help = (
        "Seal the passing standard of a program as it is loaded now. After that, this version "
        "of the program cannot change any more. Prints the standard's SHA-256 digest."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        """Take the program and who seals it."""
        super().add_arguments(parser)
        add_lead_arguments(parser)

    def handle(
        self,
        *args: Any,
        code: str,
        version: int | None,
        lead: str | None,
        provider: str | None,
        **options: Any,
    ) -> None:
        """Seal it and print the digest."""
        actor, where = chosen_lead(lead, provider)
        program = chosen_program(code, version, where.name)
        try:
            sealed = seal_standard(actor=actor, program=program)
        except Refused as refused:
            raise CommandError(refused.message) from None
        self.stdout.write(f"{sealed}: sealed.\nSHA-256: {sealed.digest}")
