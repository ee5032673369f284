"""What is wrong in a program file, and where."""

from dataclasses import dataclass

from training.errors import Refused

SHOWN = 100


@dataclass(frozen=True, order=True)
class Fault:
    """One thing to mend: ``line`` and ``column`` count from 1, ``field`` is a path of names."""

    line: int
    column: int
    field: str
    message: str

    def sentence(self, filename: str) -> str:
        """Return the fault on one line, as ``file:line:column: field: what to do``."""
        place = f"{filename}:{self.line}:{self.column}"
        return (
            f"{place}: {self.field}: {self.message}" if self.field else f"{place}: {self.message}"
        )


class ProgramFileError(Refused):
    """A program file cannot be loaded; ``faults`` holds everything that is wrong in it."""

    def __init__(self, filename: str, faults: list[Fault]) -> None:
        self.filename = filename
        self.faults = sorted(set(faults))
        lines = [fault.sentence(filename) for fault in self.faults[:SHOWN]]
        more = len(self.faults) - len(lines)
        if more:
            lines.append(f"... and {more:,} more; mend these first.")
        things = "1 thing" if len(self.faults) == 1 else f"{len(self.faults):,} things"
        message = "\n".join((f"{filename} was not loaded; {things} to mend:", *lines))
        super().__init__(message, field="source")
