"""The secret address at which a calendar program reads a person's own sessions."""

import secrets

from django.db import transaction
from django.utils import timezone

from training.actions.log import write_log
from training.digests import secret_digest
from training.models import Person, PersonFeed

TOKEN_BYTES = 32


@transaction.atomic
def make_person_feed(*, actor: Person) -> tuple[PersonFeed, str]:
    """Return a new feed of the sessions of ``actor``, and the secret of its address.

    The secret is kept as a digest only: it is shown now or never. The address before is revoked.
    """
    _revoke_current(actor)
    token = secrets.token_urlsafe(TOKEN_BYTES)
    feed = PersonFeed.objects.create(person=actor, token_sha256=secret_digest(token))
    write_log(actor=actor, verb="person_feed.made", subject=feed)
    return feed, token


@transaction.atomic
def revoke_person_feed(*, actor: Person) -> None:
    """Make the address of ``actor`` useless at once; without one nothing happens."""
    _revoke_current(actor)


def _revoke_current(actor: Person) -> None:
    # Two wishes at once queue here, so that the later one revokes the earlier.
    Person.objects.select_for_update(no_key=True).get(pk=actor.pk)
    feed = PersonFeed.objects.filter(person=actor, revoked_at__isnull=True).first()
    if feed is not None:
        feed.revoked_at = timezone.now()
        feed.save(update_fields=["revoked_at"])
        write_log(actor=actor, verb="person_feed.revoked", subject=feed)
