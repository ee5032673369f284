"""manage.py add_person: the first lead of an installation, or anybody else."""

from argparse import ArgumentParser
from getpass import getpass
from typing import Any

from django.conf import settings
from django.contrib.auth.password_validation import validate_password
from django.core.exceptions import ValidationError
from django.core.management.base import BaseCommand, CommandError
from django.db import transaction
from django.urls import reverse

from training.actions.passwords import make_password_link, set_password
from training.actions.people import add_organisation, add_person
from training.errors import Refused
from training.models import Organisation, Person, Role


class Command(BaseCommand):
    """Give a person a role at an organisation, both made known if they are not."""

    help = (
        "Give a person a role at an organisation, making both known if need be. Asks for a "
        "password when the person has none, or prints a link to set one with --link."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        """Take who, which role and where."""
        parser.add_argument("email")
        parser.add_argument("name", help="full name, in quotation marks")
        parser.add_argument("--role", required=True, choices=Role.Kind.values)
        parser.add_argument("--organisation", required=True, help="its name, in quotation marks")
        parser.add_argument(
            "--kind",
            default=Organisation.Kind.PROVIDER,
            choices=Organisation.Kind.values,
            help="what the organisation is (default: %(default)s)",
        )
        parser.add_argument(
            "--link", action="store_true", help="print a link for the password, ask for none"
        )

    def handle(
        self,
        *args: Any,
        email: str,
        name: str,
        role: str,
        organisation: str,
        kind: str,
        link: bool,
        **options: Any,
    ) -> None:
        """Do it as a whole or not at all."""
        try:
            with transaction.atomic():
                where = _organisation(kind, organisation)
                person = add_person(
                    actor=None, full_name=name, email=email, role=role, organisation=where
                )
                if not link and not person.has_usable_password():
                    set_password(person=person, password=_asked(person))
        except Refused as refused:
            raise CommandError(refused.message) from None
        self.stdout.write(f"{person}: {Role.Kind(role).label} at {where}.")
        if link:
            self.stdout.write(password_address(person))


def password_address(person: Person) -> str:
    """Return the whole address by which ``person`` sets a password; it works once."""
    parts = make_password_link(actor=None, person=person)
    return f"{settings.BASE_URL}{reverse('set_password', kwargs=parts)}"


def _organisation(kind: str, name: str) -> Organisation:
    found = Organisation.objects.filter(kind=kind, name__iexact=" ".join(name.split())).first()
    return found or add_organisation(actor=None, kind=kind, name=name)


def _asked(person: Person) -> str:
    password = getpass(f"Password for {person.email}: ")
    if getpass("Once more: ") != password:
        raise CommandError("The two passwords differ. Nothing was saved; run it again.")
    try:
        validate_password(password, person)
    except ValidationError as error:
        raise CommandError(" ".join(error.messages) + " Nothing was saved.") from None
    return password
