"""Make the issuers' lists of revoked certificates anew, fresh or not."""

from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from cryptography.hazmat.primitives.serialization import Encoding
from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone

from certificates.keys import SIGNS, keystore_of
from certificates.signing import KeyStoreError
from training.models import Organisation


class Command(BaseCommand):
    """For a timer: a list must be made anew before its next one is due."""

    help = (
        "Make the list of revoked signing certificates of every issuer anew. The server gives "
        "it at issuers/NUMBER/crl.der; with --to it is also written to a folder, to be put where "
        "readers find it when this server is gone."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        """Take a folder for copies."""
        parser.add_argument("--to", type=Path, metavar="FOLDER", help="write copies there")

    def handle(self, *args: Any, to: Path | None, **options: Any) -> None:
        """Publish each, and tell how many certificates it names and when the next is due."""
        issuers = Organisation.objects.filter(kind__in=SIGNS).order_by("pk")
        published = [row for row in issuers if self._publish(row, to)]
        if not published:
            self.stdout.write("Nobody has signed anything yet, so there is no list to make.")

    def _publish(self, issuer: Organisation, to: Path | None) -> bool:
        try:
            lists = keystore_of(issuer).publish_crl(timezone.now())
        except KeyStoreError as error:
            raise CommandError(f"{issuer.name}: {error}") from error
        for listed in lists:
            self.stdout.write(
                f"{issuer.name}: {len(listed)} revoked, next list due by "
                f"{listed.next_update_utc:%Y-%m-%d}."
            )
        if lists and to:
            path = to / f"issuer-{issuer.pk}.crl"
            try:
                path.write_bytes(lists[0].public_bytes(Encoding.DER))
            except OSError as error:
                raise CommandError(f"{path} cannot be written: {error.strerror}.") from error
            self.stdout.write(f"  written to {path}")
        return bool(lists)
