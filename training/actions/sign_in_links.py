"""Links by which a person signs in without a password: asked for, sent, used once."""

import secrets
from datetime import timedelta
from urllib.parse import urlencode

from django.db import transaction
from django.utils import timezone
from django.utils.translation import gettext as _

from training.actions.log import write_log
from training.actions.passwords import link_parts
from training.digests import secret_digest
from training.errors import Refused
from training.letters import address, send_letter
from training.models import LogEntry, Person, SignInAsked, SignInLink
from training.queries.sign_in_links import live_link
from training.tasks import send_sign_in_link

TOKEN_BYTES = 32
VALID = timedelta(minutes=15)
# Within so long, a person is sent so many; from a network so many are asked for. A whole course
# may sit behind one address of a site trailer.
WINDOW = timedelta(minutes=15)
MOST_FOR_A_PERSON = 3
MOST_FROM_A_NETWORK = 20
KEPT = timedelta(days=1)
EMAIL = "training/account/email"


@transaction.atomic
def ask_for_link(*, email: str, source: str, following: str = "") -> None:
    """Have a link sent to whoever has this address; the same is done whether anybody has.

    ``source`` is ``network_digest`` of the request, ``following`` a page of this site that comes
    next. The sending is left to a worker, so that the time taken tells nothing either. Raises
    Refused (at ``username``, the field of the address) when the network asked too often.
    """
    now = timezone.now()
    SignInAsked.objects.filter(at__lt=now - KEPT).delete()
    asked = SignInAsked.objects.filter(source=source, at__gt=now - WINDOW).count()
    if asked >= MOST_FROM_A_NETWORK:
        raise Refused(
            _(
                "Too many links were asked for from where you are. Wait 15 minutes, then ask "
                "again, or sign in with your password."
            ),
            field="username",
        )
    SignInAsked.objects.create(source=source, at=now)
    send_sign_in_link.enqueue(email, following)


@transaction.atomic
def send_link(*, email: str, following: str = "") -> None:
    """Send a link to the person with this address; nothing for nobody, or for a closed account.

    Links sent before stop working. Whoever was sent enough for now gets no more: the last stays.
    """
    person = (
        Person.objects.select_for_update(no_key=True)
        .filter(email=email.strip().lower(), is_active=True)
        .first()
    )
    if person is None:
        return
    now = timezone.now()
    if person.sign_in_links.filter(made_at__gt=now - WINDOW).count() >= MOST_FOR_A_PERSON:
        return
    token = secrets.token_urlsafe(TOKEN_BYTES)
    link = SignInLink.objects.create(
        person=person, token_sha256=secret_digest(token), made_at=now, expires_at=now + VALID
    )
    url = address("sign_in_link", token=token)
    send_letter(
        person,
        subject=lambda: _("Sign in to Bankermark"),
        template=f"{EMAIL}/sign_in_link.txt",
        context={
            "url": f"{url}?{urlencode({'next': following})}" if following else url,
            "minutes": int(VALID.total_seconds() // 60),
        },
    )
    write_log(actor=None, verb="sign_in.link_sent", subject=person, data={"link": link.pk})


@transaction.atomic
def use_link(*, token: str) -> Person | None:
    """Use up a link and return whom it signs in; None when it does not any more."""
    SignInLink.objects.select_for_update().filter(token_sha256=secret_digest(token)).first()
    link = live_link(token)
    if link is None:
        return None
    link.used_at = timezone.now()
    link.save(update_fields=["used_at"])
    write_log(
        actor=link.person, verb="sign_in.link_used", subject=link.person, data={"link": link.pk}
    )
    return link.person


@transaction.atomic
def mail_password_link(*, person: Person) -> None:
    """Send a link by which ``person`` sets a first password to the person's own address.

    Raises Refused for who has one, which stands for a signature and is not made anew by e-mail,
    and for who was sent enough for now.
    """
    if person.has_usable_password():
        raise Refused(_("You have a password. If you do not know it, ask your training lead."))
    made = LogEntry.objects.filter(
        subject_type=person._meta.label_lower,
        subject_id=str(person.pk),
        verb="password.link_made",
        at__gt=timezone.now() - WINDOW,
    )
    if made.count() >= MOST_FOR_A_PERSON:
        raise Refused(_("Links were sent to you already. Look for them, or wait 15 minutes."))
    send_letter(
        person,
        subject=lambda: _("Set your password"),
        template=f"{EMAIL}/password_link.txt",
        context={"url": address("set_password", **link_parts(person))},
    )
    write_log(actor=person, verb="password.link_made", subject=person)
