"""Plain e-mails about offers and employments; each is sent once the facts are saved."""

from functools import partial

from django.conf import settings
from django.core.mail import send_mail
from django.db import transaction
from django.template.loader import render_to_string
from django.urls import reverse

from training.actions.passwords import link_parts
from training.models import Employment, EmploymentOffer, Organisation, Person, Role


def tell_offer(offer: EmploymentOffer) -> None:
    """Tell the person of an offer; whoever has no password yet gets a link to set one."""
    person = offer.person
    link = "" if person.has_usable_password() else _url("set_password", **link_parts(person))
    _send(
        [person],
        f"{offer.organisation} asks you to join its crew",
        "offer",
        {"offer": offer, "set_password_url": link, "url": _url("my_employment")},
    )


def tell_answer(offer: EmploymentOffer) -> None:
    """Tell the managers of the contractor what the person answered."""
    _send(
        managers_of(offer.organisation),
        f"Your offer to {offer.person.email} was {offer.get_state_display().lower()}",
        "answer",
        {"offer": offer, "url": _url("offer_new")},
    )


def tell_ended(employment: Employment) -> None:
    """Tell the person that the contractor wrote the last day of the employment."""
    _send(
        [employment.person],
        f"Your employment at {employment.organisation}",
        "ended",
        {"employment": employment, "url": _url("my_employment")},
    )


def tell_left(employment: Employment) -> None:
    """Tell the contractor's managers that somebody leaves, or left, the crew."""
    _send(
        managers_of(employment.organisation),
        f"{employment.person} leaves your crew",
        "left",
        {"employment": employment},
    )


def managers_of(organisation: Organisation) -> list[Person]:
    """Return the people who manage the crew of ``organisation`` and can sign in."""
    held = Role.objects.filter(organisation=organisation, kind=Role.Kind.CONTRACTOR)
    return list(Person.objects.filter(pk__in=held.values("person"), is_active=True))


def _send(people: list[Person], subject: str, name: str, context: dict[str, object]) -> None:
    """Send once the transaction is saved, each person on their own: nobody learns of the others."""
    for person in people:
        if person.is_active:
            text = render_to_string(
                f"training/employment/email_{name}.txt", {**context, "reader": person}
            )
            transaction.on_commit(
                # A name with a line break in it would not do as a subject.
                partial(send_mail, " ".join(subject.split()), text, None, [person.email]),
                robust=True,
            )


def _url(name: str, **parts: str) -> str:
    return f"{settings.BASE_URL}{reverse(name, kwargs=parts)}"
