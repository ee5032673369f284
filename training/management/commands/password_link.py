"""manage.py password_link: a new password for somebody who is shut out."""

from argparse import ArgumentParser
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from training.management.commands.add_person import password_address
from training.models import Person


class Command(BaseCommand):
    """Print a link by which a person sets a new password."""

    help = "Print a link by which the person sets a new password; it works once, for three days."

    def add_arguments(self, parser: ArgumentParser) -> None:
        """Take the address."""
        parser.add_argument("email")

    def handle(self, *args: Any, email: str, **options: Any) -> None:
        """Print the link."""
        person = Person.objects.filter(email=email.strip().lower()).first()
        if person is None:
            raise CommandError(f"Nobody is known by {email}.")
        self.stdout.write(password_address(person))
