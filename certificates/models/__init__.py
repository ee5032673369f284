"""Facts about what was issued, and about wrong looks for it."""

from certificates.models.guesses import WrongNumber
from certificates.models.records import Record

__all__ = ["Record", "WrongNumber"]
