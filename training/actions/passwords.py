"""Links by which people set a password, and the setting itself."""

from django.contrib.auth.tokens import default_token_generator
from django.core.exceptions import PermissionDenied
from django.db import transaction
from django.utils.encoding import force_bytes
from django.utils.http import urlsafe_base64_encode
from django.utils.translation import gettext as _

from training.actions.log import write_log
from training.errors import Refused
from training.models import Enrolment, Person, Role
from training.queries.scope import people_visible_to, provider_organisations


@transaction.atomic
def make_password_link(*, actor: Person | None, person: Person) -> dict[str, str]:
    """Return the parts of the address ``set_password``; it works once, for three days.

    ``actor`` None is the server's own command line. A lead may make one for anybody who has
    no password yet; else only for people whose every role and enrolment is with the lead's own
    provider and who are no leads themselves: whoever holds the link becomes that person.
    Raises PermissionDenied, or Refused with the way out.
    """
    if actor is not None:
        if not people_visible_to(actor).filter(pk=person.pk).exists():
            raise PermissionDenied(_("Only a training lead of this person may do this."))
        if person.has_usable_password() and not _wholly_led_by(actor, person):
            raise Refused(
                _(
                    "{person} has a password and is known beyond your own trainees and "
                    "instructors. A new link is made at the server: manage.py password_link."
                ).format(person=person)
            )
    write_log(actor=actor, verb="password.link_made", subject=person)
    return link_parts(person)


def link_parts(person: Person) -> dict[str, str]:
    """Return the parts of the address ``set_password``; who makes one writes it to the log."""
    return {
        "uidb64": urlsafe_base64_encode(force_bytes(person.pk)),
        "token": default_token_generator.make_token(person),
    }


@transaction.atomic
def set_password(*, person: Person, password: str) -> None:
    """Save a password that its validators have passed; open links stop working."""
    person.set_password(password)
    person.save(update_fields=["password"])
    write_log(actor=person, verb="password.set", subject=person)


def _wholly_led_by(actor: Person, person: Person) -> bool:
    led = provider_organisations(actor)
    roles = Role.objects.filter(person=person)
    beyond = roles.exclude(organisation__in=led) | roles.filter(kind=Role.Kind.LEAD)
    elsewhere = Enrolment.objects.filter(person=person).exclude(run__program__provider__in=led)
    return not beyond.exists() and not elsewhere.exists()
