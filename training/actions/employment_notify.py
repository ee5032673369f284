"""Plain e-mails about offers and employments; each is sent once the facts are saved."""

from collections.abc import Callable

from django.utils.translation import gettext as _

from training.actions.passwords import link_parts
from training.letters import address, send_letter
from training.models import Employment, EmploymentOffer, Organisation, Person, Role


def tell_offer(offer: EmploymentOffer) -> None:
    """Tell the person of an offer; whoever has no password yet gets a link to set one."""
    person = offer.person
    link = "" if person.has_usable_password() else address("set_password", **link_parts(person))
    _send(
        [person],
        lambda: _("{organisation} asks you to join its crew").format(
            organisation=offer.organisation
        ),
        "offer",
        {"offer": offer, "set_password_url": link, "url": address("my_employment")},
    )


def tell_answer(offer: EmploymentOffer) -> None:
    """Tell the managers of the contractor what the person answered."""

    def subject() -> str:
        if offer.state == EmploymentOffer.State.ACCEPTED:
            return _("Your offer to {email} was accepted").format(email=offer.person.email)
        return _("Your offer to {email} was declined").format(email=offer.person.email)

    _send(
        managers_of(offer.organisation),
        subject,
        "answer",
        {"offer": offer, "url": address("offer_new")},
    )


def tell_ended(employment: Employment) -> None:
    """Tell the person that the contractor wrote the last day of the employment."""
    _send(
        [employment.person],
        lambda: _("Your employment at {organisation}").format(organisation=employment.organisation),
        "ended",
        {"employment": employment, "url": address("my_employment")},
    )


def tell_left(employment: Employment) -> None:
    """Tell the contractor's managers that somebody leaves, or left, the crew."""
    _send(
        managers_of(employment.organisation),
        lambda: _("{person} leaves your crew").format(person=employment.person),
        "left",
        {"employment": employment},
    )


def managers_of(organisation: Organisation) -> list[Person]:
    """Return the people who manage the crew of ``organisation`` and can sign in."""
    held = Role.objects.filter(organisation=organisation, kind=Role.Kind.CONTRACTOR)
    return list(Person.objects.filter(pk__in=held.values("person"), is_active=True))


def _send(
    people: list[Person], subject: Callable[[], str], name: str, context: dict[str, object]
) -> None:
    """Send to each person on their own: nobody learns of the others."""
    for person in people:
        send_letter(
            person,
            subject=subject,
            template=f"training/employment/email_{name}.txt",
            context=context,
        )
