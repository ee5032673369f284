"""Which paper a document is printed on."""

from django.utils.translation import gettext as _

from training.documents import PAPERS, Paper
from training.errors import Refused
from training.models import Program


def paper_for(asked: str | None, program: Program) -> Paper:
    """Return the paper that was asked for; without one, A4 where the program measures in mm.

    Raises Refused for a paper that there is not.
    """
    if asked is None:
        return "a4" if program.unit == Program.Unit.MILLIMETRE else "letter"
    for paper in PAPERS:
        if asked == paper:
            return paper
    raise Refused(
        _("There is no paper “{asked}” here: ask for {papers}, or leave it out.").format(
            asked=asked[:40], papers=_(" or ").join(PAPERS)
        )
    )
