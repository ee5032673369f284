"""From the page of a report and its photographs to a tagged PDF; asks no database."""

from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

from assessments.trainingreport.scaled import PAPER, UNREADABLE, NotReadableError, scaled
from assessments.trainingreport.wire import MADE, PICTURES, SOURCE
from training.documents import write_pdf
from training.errors import Refused


def render_report(job: Mapping[str, Any], folder: Path, tell: Callable[[int], None]) -> None:
    """Write the PDF of the job in ``folder`` (see ``wire``).

    Each photograph is made as small as paper needs it, one after the other, in its place.
    ``tell`` is called with the number of steps done: one a photograph, and one for the pages.
    Raises Refused where a photograph cannot be read, or no font has a letter.
    """
    done = 0
    for picture in job["pictures"]:
        path = folder / PICTURES / picture["file"]
        if path.exists():
            _make_small(path, picture)
        done += 1
        tell(done)
    with (folder / MADE).open("wb") as made:
        write_pdf((folder / SOURCE).read_text(), made, paper=job["paper"])
    tell(done + 1)


def _make_small(path: Path, picture: Mapping[str, Any]) -> None:
    try:
        with path.open("rb") as file:
            small = scaled(file, PAPER)
    except NotReadableError:
        raise Refused(
            UNREADABLE.format(number=picture["number"], caption=picture["caption"][:80])
        ) from None
    path.write_bytes(small)
