"""The one error of the evidence package."""

from __future__ import annotations


class EvidenceError(ValueError):
    """Input that cannot be used: where it stands, and what to write instead."""

    def __init__(self, path: str, message: str) -> None:
        self.path = path
        self.message = message
        super().__init__(f"{path}: {message}" if path else message)
