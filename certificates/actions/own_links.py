"""Links by which holders show their own records to readers without an account."""

import secrets
from collections.abc import Collection
from datetime import timedelta

from django.conf import settings
from django.core.exceptions import PermissionDenied
from django.db import transaction
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from certificates.models import OwnLink, Record
from certificates.stored import is_erased
from training.actions.log import write_log
from training.digests import secret_digest
from training.errors import Refused
from training.models import Person

TOKEN_BYTES = 32
DAYS, FEWEST_DAYS, MOST_DAYS = 30, 1, 730
LONGEST_RECIPIENT = 200
MOST_LINKS = 50  # in force at once


@transaction.atomic
def make_own_link(
    *, actor: Person, records: Collection[Record], recipient: str, days: int = DAYS
) -> tuple[OwnLink, str]:
    """Make a link to ``records`` for ``recipient``; return it with its secret, kept nowhere.

    It opens them today and for ``days`` days more, as the days of the server's zone. Raises
    PermissionDenied for a record of somebody else; Refused, at the field, without a record or a
    recipient, for a wrong number of days, and for more links in force than anybody can oversee.
    """
    if any(each.holder_id != actor.pk for each in records):
        raise PermissionDenied(_("You can show your own records alone."))
    if not records or any(is_erased(each) for each in records):
        raise Refused(_("Choose at least one record to show."), field="records")
    recipient = " ".join(recipient.split())
    if not recipient or len(recipient) > LONGEST_RECIPIENT:
        raise Refused(no_recipient(), field="recipient")
    if not FEWEST_DAYS <= days <= MOST_DAYS:
        raise Refused(wrong_days(), field="days")
    now = timezone.now()
    # Two browsers at once: the second counts the link of the first.
    Person.objects.select_for_update(no_key=True).get(pk=actor.pk)
    if OwnLink.objects.filter(holder=actor, revoked_at=None, expires_at__gt=now).count() >= (
        MOST_LINKS
    ):
        raise Refused(
            ngettext(
                "{count} link is in force: end one first.",
                "{count} links are in force: end some first.",
                MOST_LINKS,
            ).format(count=MOST_LINKS)
        )
    token = secrets.token_urlsafe(TOKEN_BYTES)
    midnight = timezone.localtime(now).replace(hour=0, minute=0, second=0, microsecond=0)
    link = OwnLink.objects.create(
        holder=actor,
        token_sha256=secret_digest(token),
        recipient=recipient,
        created_at=now,
        expires_at=midnight + timedelta(days=days + 1),
    )
    link.records.set(records)
    write_log(
        actor=actor,
        verb="own_link.made",
        subject=link,
        data={
            "records": sorted(each.number for each in records),
            "expires_at": link.expires_at.isoformat(),
        },
    )
    return link, token


@transaction.atomic
def end_own_link(*, actor: Person, link: OwnLink) -> OwnLink:
    """End ``link``: from the next request on it opens nothing. A second time does nothing.

    Raises PermissionDenied for anybody but the holder.
    """
    if link.holder_id != actor.pk:
        raise PermissionDenied(_("Only whoever made a link ends it."))
    row = OwnLink.objects.select_for_update().get(pk=link.pk)
    if row.revoked_at is None:
        row.revoked_at = timezone.now()
        row.save(update_fields=["revoked_at"])
        write_log(actor=actor, verb="own_link.ended", subject=row)
    return row


def no_recipient() -> str:
    """Return what to do about a recipient that is missing or too long."""
    return _("Write whom the link is for, in {most} characters at most.").format(
        most=LONGEST_RECIPIENT
    )


def wrong_days() -> str:
    """Return what to do about a number of days that is none or out of range."""
    return _("Write a whole number of days from {fewest} to {most}.").format(
        fewest=FEWEST_DAYS, most=MOST_DAYS
    )


def zone_name() -> str:
    """Return the zone in which a link's days end."""
    return str(settings.TIME_ZONE)
