"""What checking a PDF found."""

from dataclasses import dataclass, field
from datetime import datetime
from typing import Any, Literal

NOT_A_PDF = "This file is not a PDF: choose the PDF file of the record itself."
TOO_LARGE = "This file is larger than any record: choose the PDF file of the record itself."
UNREADABLE = "This file is damaged or was not made as a record: it cannot be read to its end."
ENCRYPTED = "This file is protected by a password; a record never is."
SUBMITTAL = (
    "This file calls itself a contractor’s submittal, which is no record, and it is not, to the "
    "last byte, one that was submitted here."
)
NO_SIGNATURE = "This file carries no signature."
SEVERAL_SIGNATURES = "This file carries more than one signature; a record carries exactly one."
ALTERED = "This file was altered after it was signed."
NOT_WHOLE = "The signature does not cover the whole file: something was added or cut off."
BAD_SIGNATURE = "The signature was not made with the key that it names."
NOT_A_RECORD_SIGNATURE = "The signature is not of the kind that closes a record against changes."
UNKNOWN_ISSUER = "The signature was made by an issuer that is not known here."
OUTSIDE_VALIDITY = "The signature bears a time at which the signer's certificate was not valid."
SIGNED_IN_FUTURE = "The signature bears a time that has not come yet."
STAMP_AT_ODDS = "The time-stamp and the time that the signature bears differ by more than minutes."
BAD_STAMP = "The time-stamp does not belong to this signature, or is not as it was made."
REVOKED_UNSTAMPED = (
    "The issuer has revoked the certificate that this file was signed with, and no trusted "
    "time-stamp shows that it was signed before that."
)
REVOKED_BEFORE = (
    "This file was signed after the moment from which its issuer's key was no longer trusted."
)
NO_RECORD = "The file is signed, but carries no readable record."


@dataclass(frozen=True)
class Verdict:
    """Whether a PDF is a genuine record, and if not, why.

    ``faults`` holds a plain sentence for each reason and is empty exactly when ``genuine``.
    ``signed_at``, ``signer`` (the name in the certificate) and ``certificate_sha256`` (lowercase
    hex) are what the file claims when it is not genuine; None when it claims nothing. ``record``
    is the attached record document, and only given when the file is genuine.

    ``stamped_at`` is the trusted time: that of a time-stamp from an authority known here, else
    None. ``level`` is what the signature was made as (ETSI EN 319 142-1: B-B, B-T with a
    time-stamp, B-LT with the issuer's list of revoked certificates inside), None without a
    readable signature. ``revoked`` says whether the issuer's lists name the certificate, None
    when there was no list to look at; ``doubtful_from`` is then the instant from which
    signatures do not count: one stamped before it stays genuine.
    """

    faults: list[str] = field(default_factory=list)
    signed_at: datetime | None = None
    signer: str | None = None
    certificate_sha256: str | None = None
    record: dict[str, Any] | None = None
    stamped_at: datetime | None = None
    level: Literal["B-B", "B-T", "B-LT"] | None = None
    revoked: bool | None = None
    doubtful_from: datetime | None = None

    @property
    def genuine(self) -> bool:
        """True when nothing at all is wrong."""
        return not self.faults
