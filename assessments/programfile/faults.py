"""What is wrong in a program file, and where."""

from dataclasses import dataclass

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from training.errors import Refused
from training.said import said

SHOWN = 100


@dataclass(frozen=True, order=True)
class Fault:
    """One thing to mend: ``line`` and ``column`` count from 1, ``field`` is a path of names."""

    line: int
    column: int
    field: str
    message: str

    def sentence(self, filename: str) -> str:
        """Return the fault on one line, as ``file:line:column: field: what to do``.

        What to do is said in the reader's language.
        """
        message = said(self.message)
        place = f"{filename}:{self.line}:{self.column}"
        return f"{place}: {self.field}: {message}" if self.field else f"{place}: {message}"


class ProgramFileError(Refused):
    """A program file cannot be loaded; ``faults`` holds everything that is wrong in it."""

    def __init__(self, filename: str, faults: list[Fault]) -> None:
        self.filename = filename
        self.faults = sorted(set(faults))
        lines = [fault.sentence(filename) for fault in self.faults[:SHOWN]]
        more = len(self.faults) - len(lines)
        if more:
            lines.append(_("... and {count} more; mend these first.").format(count=f"{more:,}"))
        number = len(self.faults)
        head = ngettext(
            "{filename} was not loaded; {count} thing to mend:",
            "{filename} was not loaded; {count} things to mend:",
            number,
        ).format(filename=filename, count=f"{number:,}")
        message = "\n".join((head, *lines))
        super().__init__(message, field="source")
