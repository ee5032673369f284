"""Making people and organisations known, what they may do, and who employs them."""

from datetime import date, timedelta

from django.core.exceptions import PermissionDenied
from django.db import IntegrityError, transaction
from django.utils import timezone
from django.utils.translation import gettext as _

from training.actions.identify import identify
from training.actions.log import write_log
from training.errors import Refused
from training.models import Employment, Organisation, Person, Role
from training.queries.employment import not_over
from training.queries.scope import OUTSIDE, people_visible_to, provider_organisations

# What a role is held at.
KIND_OF_ROLE = {
    Role.Kind.LEAD: Organisation.Kind.PROVIDER,
    Role.Kind.INSTRUCTOR: Organisation.Kind.PROVIDER,
    Role.Kind.CONTRACTOR: Organisation.Kind.CONTRACTOR,
    Role.Kind.OWNER: Organisation.Kind.OWNER,
}


def require_any_lead(actor: Person | None) -> None:
    """Raise PermissionDenied unless ``actor`` leads training somewhere.

    None is whoever works at the server's own command line.
    """
    if actor is not None and not provider_organisations(actor).exists():
        raise PermissionDenied(_("Only a training lead may do this."))


@transaction.atomic
def add_organisation(
    *, actor: Person | None, kind: str, name: str, address: str = ""
) -> Organisation:
    """Save and return a contractor or owner; a provider only from the command line.

    Raises PermissionDenied for anyone but a lead, Refused for a name that is taken.
    """
    require_any_lead(actor)
    if actor is not None and kind == Organisation.Kind.PROVIDER:
        raise PermissionDenied(_("A training provider is set up at the server's command line."))
    name = " ".join(name.split())
    if not name:
        raise Refused(_("Write the organisation's name."), field="name")
    try:
        with transaction.atomic():
            organisation = Organisation.objects.create(
                kind=kind, name=name, address=address.strip()
            )
    except IntegrityError:
        raise Refused(_("{name} is known already.").format(name=name), field="name") from None
    write_log(
        actor=actor,
        verb="organisation.added",
        subject=organisation,
        data={"kind": kind, "name": name},
    )
    return organisation


@transaction.atomic
def add_person(
    *, actor: Person | None, full_name: str, email: str, role: str, organisation: Organisation
) -> Person:
    """Give a role to the person with this address, made known first if nobody has it.

    Raises PermissionDenied unless ``actor`` leads the provider concerned (any provider, for a
    contractor's manager); Refused for a differing name, a role held already, or one that an
    organisation of this kind does not have.
    """
    _may_give(actor, role, organisation)
    if KIND_OF_ROLE[Role.Kind(role)] != organisation.kind:
        raise Refused(
            _("{organisation} is a {kind}: it has nobody who is {role}.").format(
                organisation=organisation,
                kind=organisation.get_kind_display().lower(),
                role=Role.Kind(role).label.lower(),
            ),
            field="organisation",
        )
    person = identify(full_name, email)
    _unused, made = Role.objects.get_or_create(person=person, organisation=organisation, kind=role)
    if not made:
        raise Refused(
            _("{person} has this role at {organisation} already.").format(
                person=person, organisation=organisation
            ),
            field="role",
        )
    write_log(
        actor=actor,
        verb="role.given",
        subject=person,
        data={"role": role, "organisation": organisation.pk},
    )
    return person


@transaction.atomic
def take_role(*, actor: Person, role: Role) -> None:
    """Take a role away; what the person did in it stays.

    Raises PermissionDenied as in ``add_person``, Refused for one's own role as a lead, so
    that a provider never ends without one.
    """
    _may_give(actor, role.kind, role.organisation)
    if role.person_id == actor.pk and role.kind == Role.Kind.LEAD:
        raise Refused(_("You cannot take your own role as a lead: another lead can."))
    data = {"role": role.kind, "organisation": role.organisation_id}
    person = role.person
    role.delete()
    write_log(actor=actor, verb="role.taken", subject=person, data=data)


@transaction.atomic
def change_employer(
    *, actor: Person, person: Person, employer: Organisation | None, since: date
) -> Employment | None:
    """End the current employment the day before ``since`` and begin the next, if any.

    The next contractor sees this person's results and records from that day on, the former
    one no longer. Raises PermissionDenied for anyone but a lead who sees the person; Refused
    for a day in the future or before the current employment began, and for no change.
    """
    if not people_visible_to(actor).filter(pk=person.pk).exists():
        raise PermissionDenied(_("Only a training lead of this person may do this."))
    if employer is not None and employer.kind != Organisation.Kind.CONTRACTOR:
        raise Refused(
            _("{employer} is not known as a contractor.").format(employer=employer),
            field="employer",
        )
    if since > timezone.localdate():
        raise Refused(_("This day is in the future: write it once it has come."), field="since")
    Person.objects.select_for_update(no_key=True).get(pk=person.pk)
    others = list(not_over(Employment.objects.filter(person=person), since).order_by("since"))
    current = next((each for each in others if each.until is None), None)
    if (current.organisation_id if current else None) == (employer.pk if employer else None):
        raise Refused(_("This is the employer known already."), field="employer")
    if others and since <= others[-1].since:
        raise Refused(
            _("An employment begins on {since}: write a later day.").format(since=others[-1].since),
            field="since",
        )
    for each in others:  # one whose last day is set already may not be over yet
        each.until = since - timedelta(days=1)
        each.save(update_fields=["until"])
    following = (
        Employment.objects.create(person=person, organisation=employer, since=since)
        if employer
        else None
    )
    write_log(
        actor=actor,
        verb="employer.changed",
        subject=person,
        data={"employer": employer.pk if employer else None, "since": since.isoformat()},
    )
    return following


def _may_give(actor: Person | None, role: str, organisation: Organisation) -> None:
    require_any_lead(actor)
    if actor is None or role in OUTSIDE:
        return
    if not provider_organisations(actor).filter(pk=organisation.pk).exists():
        raise PermissionDenied(
            _("Only a training lead of {organisation} may do this.").format(
                organisation=organisation
            )
        )
