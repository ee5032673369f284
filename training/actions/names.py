"""Correcting the name of a person."""

from django.core.exceptions import PermissionDenied
from django.db import transaction
from django.utils.translation import gettext as _

from training.actions.log import write_log
from training.errors import Refused
from training.models import Person
from training.names import clean_name
from training.queries.scope import people_visible_to


@transaction.atomic
def correct_name(*, actor: Person, person: Person, full_name: str) -> Person:
    """Set the name of ``person``; what was written under the former one stays as it is.

    Raises PermissionDenied for anyone but a lead who sees the person; Refused for a name that
    cannot be one. The log keeps both names.
    """
    if not people_visible_to(actor).filter(pk=person.pk).exists():
        raise PermissionDenied(_("Only a training lead of this person may do this."))
    row = Person.objects.select_for_update(no_key=True).get(pk=person.pk)
    before = row.full_name
    try:
        row.full_name = clean_name(full_name)
    except ValueError as error:
        raise Refused(str(error), field="full_name") from None
    row.save(update_fields=["full_name"])
    write_log(
        actor=actor,
        verb="person.name_corrected",
        subject=row,
        data={"before": before, "after": row.full_name},
    )
    return row
