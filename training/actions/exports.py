"""Giving out all that is held about a person."""

from django.core.exceptions import PermissionDenied
from django.db import transaction
from django.utils.translation import gettext as _

from training.actions.erasure import require_may_erase
from training.actions.log import write_log
from training.models import Person


@transaction.atomic
def note_export(*, actor: Person, person: Person) -> None:
    """Log that ``actor`` gets all that is held about ``person``.

    Raises PermissionDenied unless it is the own data, or ``actor`` leads every provider that
    knows the person.
    """
    if not actor.is_active:
        raise PermissionDenied(_("Sign in first."))
    if actor.pk != person.pk:
        require_may_erase(actor, person)
    write_log(actor=actor, verb="person.exported", subject=person)
