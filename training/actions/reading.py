"""Choosing the language and the lengths in which one reads."""

from django.db import transaction

from training.actions.log import write_log
from training.models import Person


@transaction.atomic
def choose_reading(*, person: Person, language: str, lengths: str) -> None:
    """Save how ``person`` reads; both are checked by the form, and by the database."""
    if (person.language, person.lengths) == (language, lengths):
        return
    person.language, person.lengths = language, lengths
    person.save(update_fields=["language", "lengths"])
    write_log(
        actor=person,
        verb="reading.chosen",
        subject=person,
        data={"language": language, "lengths": lengths},
    )
