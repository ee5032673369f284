"""Make the decision of a record again, from its PDF alone."""

from argparse import ArgumentParser
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any, TypeVar

from cryptography import x509
from django.core.management.base import BaseCommand, CommandError

from certificates.keys import known_crls, known_roots, known_stamp_roots
from certificates.recheck import differences
from certificates.signing import KeyStoreError, Verdict, verify

DISAGREES = 1
CANNOT_CHECK = 2
Loaded = TypeVar("Loaded")


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
            "it, the roots and lists of this server are used.",
        )
        parser.add_argument(
            "--stamp-root",
            action="append",
            type=Path,
            default=[],
            metavar="ROOT.pem",
            help="root certificate of a time-stamp authority to trust, with --root.",
        )
        parser.add_argument(
            "--crl",
            action="append",
            type=Path,
            default=[],
            metavar="LIST.der",
            help="the issuer's list of revoked certificates, with --root.",
        )

    def handle(self, *args: Any, **options: Any) -> None:
        """Tell of each file whether it agrees, and if not, what differs."""
        paths: list[Path] = options["records"]
        trust = _trust(options["root"], options["stamp_root"], options["crl"])
        wrong = [path for path in paths if not self._agrees(path, trust)]
        if wrong:
            raise CommandError(
                f"{len(wrong)} of {len(paths)} did not pass: "
                f"{', '.join(str(path) for path in wrong)}.",
                returncode=DISAGREES,
            )

    def _agrees(self, path: Path, trust: "_Trust") -> bool:
        try:
            verdict = verify(
                path.read_bytes(), trust.roots, stamp_roots=trust.stamp_roots, crls=trust.crls
            )
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
                _time_and_list(verdict),
                f"standard {record['standard_digest']}, sealed {record['sealed_at']}",
                f"decision made again from {len(record['observations']['observations'])} "
                f"observations: {decision['result']}, as stated (by engine {decision['engine']})",
                "not checked: whether it was suspended, withdrawn or replaced since "
                f"({record['check_url']} tells), and who holds it",
            ],
        )
        return True

    def _tell(self, path: Path, word: str, lines: list[str]) -> None:
        self.stdout.write(f"{path}: {word}")
        for line in lines:
            self.stdout.write(f"  {line}")


@dataclass(frozen=True)
class _Trust:
    """Whom to trust, and the issuers' lists to look at."""

    roots: Sequence[x509.Certificate]
    stamp_roots: Sequence[x509.Certificate]
    crls: Sequence[x509.CertificateRevocationList]


def _trust(roots: list[Path], stamp_roots: list[Path], crls: list[Path]) -> _Trust:
    if roots:
        return _Trust(
            [root for path in roots for root in _read(path)],
            [root for path in stamp_roots for root in _read(path)],
            [_read_list(path) for path in crls],
        )
    if stamp_roots or crls:
        raise CommandError(
            "--stamp-root and --crl go with --root: name the issuer's root too.",
            returncode=CANNOT_CHECK,
        )
    try:
        known = _Trust(known_roots(), known_stamp_roots(), known_crls())
    except KeyStoreError as error:
        raise CommandError(str(error), returncode=CANNOT_CHECK) from error
    if not known.roots:
        raise CommandError(
            "No issuer's root is known on this machine: name one with --root ROOT.pem (the "
            "page of a checked record links to it).",
            returncode=CANNOT_CHECK,
        )
    return known


def _time_and_list(verdict: Verdict) -> str:
    """Say what was looked at beyond the signature, and what was not."""
    time = (
        f"time-stamped at {verdict.stamped_at:%Y-%m-%d %H:%M:%S %Z}"
        if verdict.stamped_at
        else "no trusted time-stamp"
    )
    standing = {
        None: "no list of revoked keys to look at",
        False: "the signing key is on no list of revoked keys",
        True: "the signing key was revoked later",
    }[verdict.revoked]
    return f"{time}; {standing}"


def _read_list(path: Path) -> x509.CertificateRevocationList:
    return _loaded(path, x509.load_der_x509_crl, "list of revoked certificates in DER form")


def _read(path: Path) -> list[x509.Certificate]:
    return _loaded(
        path,
        x509.load_pem_x509_certificates,
        "certificate in PEM form (-----BEGIN CERTIFICATE-----)",
    )


def _loaded(path: Path, load: Callable[[bytes], Loaded], what: str) -> Loaded:
    try:
        return load(path.read_bytes())
    except OSError as error:
        raise CommandError(
            f"{path} cannot be read: {error.strerror}.", returncode=CANNOT_CHECK
        ) from error
    except ValueError as error:
        raise CommandError(f"{path} holds no {what}.", returncode=CANNOT_CHECK) from error
