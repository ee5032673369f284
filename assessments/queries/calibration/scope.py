"""Who sees what of calibration; see queries/scope.py.

- A lead sees the reference pieces of the own provider's programs with their agreed scores, and
  the finished sittings on them.
- Whoever assesses a program sees that its pieces are there to be scored, and the own sittings.
"""

from django.db.models import Q, QuerySet

from assessments.models import CalibrationSitting, ReferencePiece
from assessments.queries.scope import drafts_visible_to
from training.models import Person, Program
from training.queries.scope import provider_organisations


def programs_assessed_by(person: Person) -> QuerySet[Program]:
    """Return the programs that ``person`` leads, or teaches on a run."""
    return drafts_visible_to(person)


def pieces_visible_to(person: Person) -> QuerySet[ReferencePiece]:
    """Return the reference pieces of the programs that ``person`` assesses."""
    return ReferencePiece.objects.filter(
        standard__program__in=programs_assessed_by(person).order_by()
    )


def sittings_visible_to(person: Person) -> QuerySet[CalibrationSitting]:
    """Return the own sittings, and the finished ones on programs that ``person`` leads."""
    led = provider_organisations(person).order_by()
    return CalibrationSitting.objects.filter(
        Q(assessor=person)
        | Q(state=CalibrationSitting.State.FINISHED, piece__standard__program__provider__in=led)
    )
