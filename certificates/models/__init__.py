"""Facts about what was issued."""

from certificates.models.records import Record

__all__ = ["Record"]
