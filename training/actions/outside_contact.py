"""Naming who outside a provider hears complaints that none of its leads can answer."""

from django.core.exceptions import ValidationError
from django.core.validators import validate_email
from django.db import transaction
from django.utils.translation import gettext as _

from training.actions.log import write_log
from training.actions.permission import require_lead
from training.errors import Refused
from training.models import Organisation, Person, Role

LONGEST = 300  # of name and address together
# They have a meaning in an address.
_SIGNS = str.maketrans({'"': "'", "<": " ", ">": " ", "\\": " ", "\0": " "})


@transaction.atomic
def name_outside_contact(
    *, actor: Person, provider: Organisation, name: str, email: str
) -> Organisation:
    """Keep a name and an e-mail address (RFC 5322), or nothing with both empty.

    Raises PermissionDenied for anyone but a lead of the provider; Refused for one without the
    other, an address that cannot be one, that of a lead, and for more than fits.
    """
    require_lead(actor, provider)
    name, email = " ".join(name.translate(_SIGNS).split()), email.strip()
    if bool(name) != bool(email):
        field = "email" if name else "name"
        raise Refused(_("Write the name and the e-mail address, or leave both empty."), field=field)
    if email:
        _check(provider, email)
    contact = f'"{name}" <{email}>' if email else ""
    if len(contact) > LONGEST:
        raise Refused(_("Shorten the name: it does not fit."), field="name")
    row = Organisation.objects.select_for_update().get(pk=provider.pk)
    row.outside_contact = contact
    row.save(update_fields=["outside_contact"])
    write_log(
        actor=actor,
        verb="organisation.outside_contact",
        subject=row,
        data={"named": bool(contact)},
    )
    return row


def _check(provider: Organisation, email: str) -> None:
    try:
        validate_email(email)
    except ValidationError:
        raise Refused(
            _("This is no e-mail address. Write it like name@example.org."), field="email"
        ) from None
    leads = Role.objects.filter(organisation=provider, kind=Role.Kind.LEAD)
    if leads.filter(person__email__iexact=email).exists():
        raise Refused(
            _("This is the address of a training lead: name somebody outside."), field="email"
        )
