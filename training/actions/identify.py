"""Finding the person with an e-mail address, or making one known."""

from django.db import IntegrityError, transaction
from django.utils.translation import gettext as _

from training.emails import clean_email
from training.errors import Refused
from training.models import Person
from training.names import clean_name, same_name


def identify(full_name: str, email: str) -> Person:
    """Return the person with this address, locked; made known first if nobody has it.

    A new person cannot sign in before setting a password by a link (see passwords.py).
    Raises Refused, at ``full_name`` or ``email``, for what cannot be a name or an address, and
    for an address that is known under another name: nobody is renamed silently.
    """
    name, address = _clean_both(full_name, email)
    person = Person.objects.select_for_update(no_key=True).filter(email=address).first()
    if person is None:
        try:
            with transaction.atomic():
                return Person.objects.create_user(address, name)
        except IntegrityError:
            raise Refused(
                _("Somebody else made {address} known just now. Send the form again.").format(
                    address=address
                ),
                field="email",
            ) from None
    if not same_name(person.full_name, name):
        raise Refused(other_name(person), field="full_name")
    return person


def other_name(person: Person) -> str:
    """Return the sentence for an address that is known under another name."""
    return _(
        "{email} is known as “{full_name}”. Write that name, or the other "
        "person's own address: nobody is renamed here."
    ).format(email=person.email, full_name=person.full_name)


def _clean_both(full_name: str, email: str) -> tuple[str, str]:
    try:
        name = clean_name(full_name)
    except ValueError as error:
        raise Refused(str(error), field="full_name") from None
    try:
        return name, clean_email(email)
    except ValueError as error:
        raise Refused(str(error), field="email") from None
