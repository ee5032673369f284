"""Make the decision of a record again, from its PDF alone."""

from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from cryptography import x509
from django.core.management.base import BaseCommand, CommandError

from certificates.keys import known_roots
from certificates.recheck import differences
from certificates.signing import KeyStoreError, Verdict, verify

DISAGREES = 1
CANNOT_CHECK = 2


class Command(BaseCommand):
    """Needs neither the database nor the passphrase: the file, and the issuer's root."""

    help = (
        "Check the signature of each record, take out the record inside, make its decision "
        "again from the embedded standard and observations, and compare. Ends with 0 only if "
        "all agree, with 1 if one does not, with 2 if nothing could be checked."
    )
    requires_system_checks = []

    def add_arguments(self, parser: ArgumentParser) -> None:
        """Name the files and the roots."""
        parser.add_argument("records", nargs="+", type=Path, metavar="RECORD.pdf")
        parser.add_argument(
            "--root",
            action="append",
            type=Path,
            default=[],
            metavar="ROOT.pem",
            help="root certificate of an issuer to trust; may be given several times. Without "
            "it, the roots of the keys on this server are trusted.",
        )

    def handle(self, *args: Any, **options: Any) -> None:
        """Tell of each file whether it agrees, and if not, what differs."""
        paths: list[Path] = options["records"]
        roots = _roots(options["root"])
        wrong = [path for path in paths if not self._agrees(path, roots)]
        if wrong:
            raise CommandError(
                f"{len(wrong)} of {len(paths)} did not pass: "
                f"{', '.join(str(path) for path in wrong)}.",
                returncode=DISAGREES,
            )

    def _agrees(self, path: Path, roots: list[x509.Certificate]) -> bool:
        try:
            verdict = verify(path.read_bytes(), roots)
        except OSError as error:
            verdict = Verdict([f"The file cannot be read: {error.strerror}."])
        if verdict.record is None:
            self._tell(path, "does not pass", verdict.faults)
            return False
        found = differences(verdict.record)
        if found:
            self._tell(path, "is signed, but does not agree with itself", found)
            return False
        record, decision = verdict.record, verdict.record["decision"]
        self._tell(
            path,
            "agrees",
            [
                f"record {record['number']} of {record['holder']['name']}",
                f"signed by {verdict.signer} on {record['issued_at']}, not altered since",
                f"standard {record['standard_digest']}, sealed {record['sealed_at']}",
                f"decision made again from {len(record['observations']['observations'])} "
                f"observations: {decision['result']}, as stated (by engine {decision['engine']})",
            ],
        )
        return True

    def _tell(self, path: Path, word: str, lines: list[str]) -> None:
        self.stdout.write(f"{path}: {word}")
        for line in lines:
            self.stdout.write(f"  {line}")


def _roots(paths: list[Path]) -> list[x509.Certificate]:
    if not paths:
        try:
            roots = known_roots()
        except KeyStoreError as error:
            raise CommandError(str(error), returncode=CANNOT_CHECK) from error
        if not roots:
            raise CommandError(
                "No issuer's root is known on this machine: name one with --root ROOT.pem (the "
                "page of a checked record links to it).",
                returncode=CANNOT_CHECK,
            )
        return roots
    return [root for path in paths for root in _read(path)]


def _read(path: Path) -> list[x509.Certificate]:
    try:
        return x509.load_pem_x509_certificates(path.read_bytes())
    except OSError as error:
        raise CommandError(
            f"{path} cannot be read: {error.strerror}.", returncode=CANNOT_CHECK
        ) from error
    except ValueError as error:
        raise CommandError(
            f"{path} holds no certificate in PEM form (-----BEGIN CERTIFICATE-----).",
            returncode=CANNOT_CHECK,
        ) from error
