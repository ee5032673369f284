"""How far the making of a file is."""

from dataclasses import dataclass
from datetime import timedelta

from django.utils import timezone

from assessments.models import ReportFile

# A file tells every few seconds how far it is; one that waits so long has no worker.
QUIET = timedelta(minutes=1)


@dataclass(frozen=True)
class Progress:
    """``running``: it waits or is being made; ``quiet``: nothing was heard for a minute."""

    running: bool
    quiet: bool
    done: int
    parts: int


def progress_of(file: ReportFile) -> Progress:
    """Return how far ``file`` is (no query)."""
    running = file.state in (ReportFile.State.WAITING, ReportFile.State.MAKING)
    heard = file.taken_at or file.asked_at
    quiet = running and timezone.now() - heard > QUIET
    return Progress(running, quiet, min(file.done, file.parts), file.parts)
