"""Make a fresh key for credentials; the older ones stay published."""

from argparse import ArgumentParser
from typing import Any

from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone

from certificates.credentials.multikey import to_multikey
from certificates.keys import credential_keys_of
from certificates.management.commands.rotate_key import choose_provider
from certificates.signing import KeyStoreError


class Command(BaseCommand):
    """Asks nothing; says what it did."""

    help = (
        "Make a new key for the credentials of a provider (Open Badges 3.0). From now on it signs; "
        "credentials signed before stay as they are and can still be checked."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        """Name the provider where there are several."""
        parser.add_argument(
            "--provider", type=int, metavar="NUMBER", help="needed where there are several"
        )

    def handle(self, *args: Any, provider: int | None, **options: Any) -> None:
        """Rotate, and tell the new public key."""
        chosen = choose_provider(provider)
        try:
            made = credential_keys_of(chosen).rotate(at=timezone.now())
        except KeyStoreError as error:
            raise CommandError(str(error)) from error
        self.stdout.write(
            f"{chosen.name} signs credentials from now on with the key {to_multikey(made)}.\n"
            "Those signed before are as good as they were. Back up the folder of keys now."
        )
