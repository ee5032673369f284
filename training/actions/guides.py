"""Putting a guide away."""

from django.db import transaction
from django.utils.translation import gettext as _

from training.errors import Refused
from training.guides.texts import guides
from training.models import GuideRead, Person


@transaction.atomic
def put_away(*, actor: Person, guide: str) -> None:
    """Remember that ``actor`` has read ``guide``; again changes nothing. It is about nobody else,
    so it is not logged. Raises Refused for a guide that there is none of."""
    if guide not in guides():
        raise Refused(_("There is no such guide."))
    GuideRead.objects.get_or_create(person=actor, guide=guide)
