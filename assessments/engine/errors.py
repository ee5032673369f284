"""The engine's one error: what was wrong, where, and what to write instead."""

from __future__ import annotations


class EngineError(ValueError):
    """Input that the engine will not decide on.

    ``path`` names the field (``criteria[3].limits.upper``; empty for the whole document),
    ``message`` is a plain sentence that says what to write instead, and ``column`` (from 1) is
    the place inside a formula or a JSON text, where there is one.

    >>> error = EngineError("limits.upper", "Write a number, such as 1/2.")
    >>> str(error.under("criteria[3]"))
    'criteria[3].limits.upper: Write a number, such as 1/2.'
    """

    def __init__(self, path: str, message: str, column: int | None = None) -> None:
        super().__init__(path, message, column)
        self.path = path
        self.message = message
        self.column = column

    def __str__(self) -> str:
        return f"{self.path}: {self.message}" if self.path else self.message

    def under(self, prefix: str) -> EngineError:
        """The same error, seen from the document that holds the field."""
        if not prefix or not self.path:
            return EngineError(prefix or self.path, self.message, self.column)
        joint = "" if self.path.startswith("[") else "."
        return EngineError(f"{prefix}{joint}{self.path}", self.message, self.column)
