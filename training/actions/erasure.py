"""Erasing a person: a pseudonym stands for the name, and what was decided stays provable."""

import secrets
from functools import partial

from django.core.exceptions import PermissionDenied
from django.db import transaction
from django.utils import timezone
from django.utils.translation import gettext as _

from training.actions.log import write_log
from training.errors import Refused
from training.models import Erasure, Organisation, Person
from training.names import same_name
from training.privacy.erasable import remove_files
from training.privacy.erasing import blocks_of, run_steps
from training.privacy.export import data_of, digest_of
from training.queries.consents import providers_of
from training.queries.scope import people_visible_to, provider_organisations

SHORTEST_REASON, LONGEST_REASON = 10, 500
ADDRESS = "erased-{}@invalid.invalid"  # RFC 6761: a name that never resolves


def require_may_erase(actor: Person, person: Person) -> None:
    """Raise PermissionDenied unless ``actor`` leads every provider that knows ``person``."""
    led = provider_organisations(actor)
    if not people_visible_to(actor).filter(pk=person.pk).exists():
        raise PermissionDenied(_("Only a training lead of this person may do this."))
    others: list[Organisation] = list(providers_of(person).exclude(pk__in=led.values("pk")))
    if others:
        names = ", ".join(str(each) for each in others)
        raise PermissionDenied(
            _("{names} knows this person too: only a lead there may do this.").format(names=names)
        )


@transaction.atomic
def erase_person(
    *, actor: Person, person: Person, typed_name: str, reason: str, in_writing: bool
) -> Erasure:
    """Erase what is held about ``person`` and return the row that says so.

    The row keeps the digest of what an export held until then. Raises PermissionDenied as
    ``require_may_erase`` does, and for oneself; Refused, at its field, when the typed name is
    another, without a reason or with the name in it, and for what stands against it.
    """
    require_may_erase(actor, person)
    if actor.pk == person.pk:
        raise PermissionDenied(_("Nobody erases the own person: ask another lead."))
    row = Person.objects.select_for_update().get(pk=person.pk)
    if Erasure.objects.filter(person=row).exists():
        raise Refused(_("This person's data is erased already."))
    if not same_name(typed_name, row.full_name):
        raise Refused(_("Write the person's name exactly as it stands here."), field="typed_name")
    why = _reason(reason, row)
    if in_the_way := blocks_of(row, in_writing=in_writing):
        raise Refused(" ".join(in_the_way))
    name, mark = row.full_name, secrets.token_hex(4).upper()
    erasure = Erasure.objects.create(
        person=row,
        pseudonym=f"Person {mark}",
        reason=why,
        export_sha256=digest_of(data_of(row, now=timezone.now())),
        by=actor,
    )
    files = list(run_steps(erasure, name))
    _pseudonymise(row, erasure, mark)
    write_log(
        actor=actor,
        verb="person.erased",
        subject=row,
        data={
            "pseudonym": erasure.pseudonym,
            "export_sha256": erasure.export_sha256,
            "in_writing": in_writing,
            "files": len(files),
        },
    )
    transaction.on_commit(partial(remove_files, files))
    return erasure


def _reason(typed: str, person: Person) -> str:
    why = " ".join(typed.split())
    if not SHORTEST_REASON <= len(why) <= LONGEST_REASON:
        raise Refused(
            _("Write why, in {least} to {most} characters: it stays.").format(
                least=SHORTEST_REASON, most=LONGEST_REASON
            ),
            field="reason",
        )
    told = why.casefold()
    if person.full_name.casefold() in told or person.email.casefold() in told:
        raise Refused(_("Write the reason without name and address: it stays."), field="reason")
    return why


def _pseudonymise(person: Person, erasure: Erasure, mark: str) -> None:
    person.roles.all().delete()
    person.full_name = erasure.pseudonym
    person.email = ADDRESS.format(mark.lower())
    person.is_active = False
    person.last_login = None
    person.set_unusable_password()
    person.save()
