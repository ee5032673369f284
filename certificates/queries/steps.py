"""What checking a file goes through, in order, and which of it a fault belongs to.

Everything that was checked is told, and everything that was not: a step behind the first fault
is told as not checked, even where the program had looked at it already.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from django.utils.translation import gettext_noop as N_

from certificates.sandbox import limits
from certificates.signing import verdict

GOOD = "good"
WRONG = "wrong"
NOT_CHECKED = "not_checked"

FILE = "file"
SIGNATURE = "signature"
UNCHANGED = "unchanged"
ISSUER = "issuer"
KEY = "key"
CONTENT = "content"
REGISTER = "register"
ASKED = "asked"
TITLES = {
    FILE: N_("The file is a PDF that can be read to its end, without a password."),
    SIGNATURE: N_("It carries one signature, which covers every byte and forbids every change."),
    UNCHANGED: N_("Nothing was changed since it was signed."),
    ISSUER: N_(
        "It was signed by an issuer that is known here, with a certificate that counted then."
    ),
    KEY: N_(
        "No list of revoked certificates known here says that the issuer's key was unsafe then."
    ),
    CONTENT: N_("A readable record is inside the file."),
    REGISTER: N_("The issuer's register lists this record, and it says the same."),
    ASKED: N_("It is the record with the number that you gave."),
}
OFFLINE = (FILE, SIGNATURE, UNCHANGED, ISSUER, CONTENT)
WITH_LISTS = (FILE, SIGNATURE, UNCHANGED, ISSUER, KEY, CONTENT)

UNLISTED = N_(
    "The signature is the issuer's, but the issuer's register does not list this record. Ask the "
    "issuer before you rely on it."
)
OTHER_RECORD = N_("The record inside the signed file is not the one in the issuer's register.")

STEP_OF = {
    verdict.NOT_A_PDF: FILE,
    verdict.TOO_LARGE: FILE,
    verdict.UNREADABLE: FILE,
    verdict.ENCRYPTED: FILE,
    verdict.SUBMITTAL: FILE,
    limits.TOO_SLOW: FILE,
    limits.TOO_MANY_PAGES: FILE,
    verdict.NO_SIGNATURE: SIGNATURE,
    verdict.SEVERAL_SIGNATURES: SIGNATURE,
    verdict.NOT_WHOLE: SIGNATURE,
    verdict.NOT_A_RECORD_SIGNATURE: SIGNATURE,
    verdict.BAD_STAMP: SIGNATURE,
    verdict.ALTERED: UNCHANGED,
    verdict.BAD_SIGNATURE: UNCHANGED,
    verdict.UNKNOWN_ISSUER: ISSUER,
    verdict.OUTSIDE_VALIDITY: ISSUER,
    verdict.SIGNED_IN_FUTURE: ISSUER,
    verdict.STAMP_AT_ODDS: ISSUER,
    verdict.REVOKED_UNSTAMPED: KEY,
    verdict.REVOKED_BEFORE: KEY,
    verdict.NO_RECORD: CONTENT,
    UNLISTED: REGISTER,
    OTHER_RECORD: REGISTER,
}
TO_DO = {
    FILE: N_(
        "Ask the holder for the PDF file as the issuer sent it, not a scan, a photograph or a "
        "printed copy, and send that. A paper is checked by the number on it."
    ),
    SIGNATURE: N_(
        "Do not rely on this file. Ask the holder for the file as the issuer sent it; "
        "saving it anew or printing it to PDF loses the signature."
    ),
    UNCHANGED: N_(
        "Do not rely on this file. Ask the holder for the file as the issuer sent it, or "
        "check the number that stands on it and compare each line."
    ),
    ISSUER: N_(
        "Do not rely on this file here. If it names another issuer, check it where that issuer "
        "says; if it names one of this server, tell that issuer."
    ),
    KEY: N_(
        "Do not rely on this file: somebody else may have signed it. Check the number that stands "
        "on it, which tells whether another record took its place, or ask the issuer for a new one."
    ),
    CONTENT: N_("Ask the issuer for the file of the record itself."),
    REGISTER: N_("Do not rely on it until the issuer has told you why."),
    ASKED: N_("Ask the holder for the file with the number that you were given."),
}


@dataclass(frozen=True)
class Step:
    """One thing looked at: ``state`` is good, wrong or not_checked; ``faults`` are sentences."""

    key: str
    title: str
    state: str
    faults: tuple[str, ...] = ()


def steps_of(keys: Sequence[str], faults: dict[str, list[str]]) -> list[Step]:
    """Return the steps ``keys`` in order; ``faults`` gives the sentences of a step."""
    steps, found = [], False
    for key in keys:
        if key in faults:
            steps.append(Step(key, TITLES[key], WRONG, tuple(faults[key])))
            found = True
        else:
            steps.append(Step(key, TITLES[key], NOT_CHECKED if found else GOOD))
    return steps


def by_step(faults: Sequence[str]) -> dict[str, list[str]]:
    """Sort the sentences of a verdict by step; one that is not listed belongs to the issuer's."""
    found: dict[str, list[str]] = {}
    for fault in faults:
        found.setdefault(STEP_OF.get(fault, ISSUER), []).append(fault)
    return found
