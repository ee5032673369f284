"""Calendar addresses of a crew: made, shown once, revoked."""

import secrets

from django.core.exceptions import PermissionDenied
from django.db import transaction
from django.utils import timezone
from django.utils.translation import gettext as _

from certificates.models import CalendarFeed
from training.actions.log import write_log
from training.digests import secret_digest
from training.models import Organisation, Person
from training.queries.scope import contractor_organisations

TOKEN_BYTES = 32


@transaction.atomic
def make_feed(*, actor: Person, organisation: Organisation) -> tuple[CalendarFeed, str]:
    """Return a new feed of the organisation's crew, and the secret of its address.

    The secret is kept as a digest only: it is shown now or never. A feed that ``actor`` had for
    this organisation is revoked. Raises PermissionDenied unless ``actor`` manages that crew.
    """
    _require_manager(actor, organisation)
    # Two wishes at once queue here, so that the later one revokes the earlier.
    Person.objects.select_for_update().get(pk=actor.pk)
    current = CalendarFeed.objects.filter(
        organisation=organisation, person=actor, revoked_at__isnull=True
    ).first()
    if current is not None:
        _revoke(actor, current)
    token = secrets.token_urlsafe(TOKEN_BYTES)
    feed = CalendarFeed.objects.create(
        organisation=organisation, person=actor, token_sha256=secret_digest(token)
    )
    write_log(actor=actor, verb="feed.made", subject=feed, data={"organisation": organisation.pk})
    return feed, token


@transaction.atomic
def revoke_feed(*, actor: Person, feed: CalendarFeed) -> CalendarFeed:
    """Make the feed's address useless at once; one that was revoked before stays as it is.

    Raises PermissionDenied for anybody but the one who made it.
    """
    locked = CalendarFeed.objects.select_for_update().get(pk=feed.pk)
    if locked.person_id != actor.pk:
        raise PermissionDenied(_("A calendar address is revoked by whoever made it."))
    if locked.revoked_at is None:
        _revoke(actor, locked)
    return locked


def _revoke(actor: Person, feed: CalendarFeed) -> None:
    feed.revoked_at = timezone.now()
    feed.save(update_fields=["revoked_at"])
    write_log(actor=actor, verb="feed.revoked", subject=feed)


def _require_manager(actor: Person, organisation: Organisation) -> None:
    if not contractor_organisations(actor).filter(pk=organisation.pk).exists():
        raise PermissionDenied(_("Only a manager of this contractor has its crew in a calendar."))
