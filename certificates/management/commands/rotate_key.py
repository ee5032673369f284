"""Make a fresh signing key and certificate; the older ones stay trusted."""

from argparse import ArgumentParser
from typing import Any

from cryptography.hazmat.primitives import hashes
from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone

from certificates.keys import keystore_of
from certificates.signing import KeyStoreError
from training.models import Organisation


class Command(BaseCommand):
    """Asks nothing; says what it did."""

    help = (
        "Make a new signing certificate for a provider, or for a contractor. From now on it signs "
        "the records or submittals; those signed before stay as they are and can still be checked."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        """Name the provider where there are several, or a contractor."""
        named = parser.add_mutually_exclusive_group()
        named.add_argument(
            "--provider", type=int, metavar="NUMBER", help="needed where there are several"
        )
        named.add_argument(
            "--contractor", type=int, metavar="NUMBER", help="whose submittals it is to sign"
        )

    def handle(
        self, *args: Any, provider: int | None, contractor: int | None, **options: Any
    ) -> None:
        """Rotate, and tell which certificate signs until when."""
        chosen = choose_provider(provider) if contractor is None else chosen_contractor(contractor)
        try:
            made = keystore_of(chosen).rotate(at=timezone.now())
        except KeyStoreError as error:
            raise CommandError(str(error)) from error
        self.stdout.write(
            f"{chosen.name} signs from now on with certificate {made.serial_number:x}, valid until "
            f"{made.not_valid_after_utc:%Y-%m-%d}.\n"
            f"SHA-256 {made.fingerprint(hashes.SHA256()).hex()}\n"
            "What was signed before is as good as it was. Back up the folder of keys now."
        )


def choose_provider(pk: int | None) -> Organisation:
    """Return the provider meant; raise CommandError that lists them when it is not clear."""
    providers = list(Organisation.objects.filter(kind=Organisation.Kind.PROVIDER).order_by("pk"))
    meant = providers if pk is None else [row for row in providers if row.pk == pk]
    if len(meant) == 1:
        return meant[0]
    known = "; ".join(f"{row.pk}: {row.name}" for row in providers) or "there is none yet"
    raise CommandError(f"Name one provider with --provider NUMBER ({known}).")


def chosen_contractor(pk: int) -> Organisation:
    """Return the contractor of that number; raise CommandError that lists those there are."""
    contractors = Organisation.objects.filter(kind=Organisation.Kind.CONTRACTOR).order_by("pk")
    for contractor in contractors:
        if contractor.pk == pk:
            return contractor
    known = "; ".join(f"{row.pk}: {row.name}" for row in contractors) or "there is none yet"
    raise CommandError(f"No contractor has the number {pk} ({known}).")
