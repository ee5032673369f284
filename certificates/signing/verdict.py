"""What checking a PDF found."""

from dataclasses import dataclass, field
from datetime import datetime
from typing import Any

NOT_A_PDF = "This file is not a PDF: choose the PDF file of the record itself."
TOO_LARGE = "This file is larger than any record: choose the PDF file of the record itself."
UNREADABLE = "This file is damaged or was not made as a record: it cannot be read to its end."
ENCRYPTED = "This file is protected by a password; a record never is."
NO_SIGNATURE = "This file carries no signature."
SEVERAL_SIGNATURES = "This file carries more than one signature; a record carries exactly one."
ALTERED = "This file was altered after it was signed."
NOT_WHOLE = "The signature does not cover the whole file: something was added or cut off."
BAD_SIGNATURE = "The signature was not made with the key that it names."
NOT_A_RECORD_SIGNATURE = "The signature is not of the kind that closes a record against changes."
UNKNOWN_ISSUER = "The signature was made by an issuer that is not known here."
OUTSIDE_VALIDITY = "The signature bears a time at which the signer's certificate was not valid."
SIGNED_IN_FUTURE = "The signature bears a time that has not come yet."
NO_RECORD = "The file is signed, but carries no readable record."


@dataclass(frozen=True)
class Verdict:
    """Whether a PDF is a genuine record, and if not, why.

    ``faults`` holds a plain sentence for each reason and is empty exactly when ``genuine``.
    ``signed_at``, ``signer`` (the name in the certificate) and ``certificate_sha256`` (lowercase
    hex) are what the file claims when it is not genuine; None when it claims nothing. ``record``
    is the attached record document, and only given when the file is genuine.
    """

    faults: list[str] = field(default_factory=list)
    signed_at: datetime | None = None
    signer: str | None = None
    certificate_sha256: str | None = None
    record: dict[str, Any] | None = None

    @property
    def genuine(self) -> bool:
        """True when nothing at all is wrong."""
        return not self.faults
