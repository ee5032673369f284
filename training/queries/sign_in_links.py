"""Which sign-in links still sign somebody in."""

from django.db.models import Exists, OuterRef
from django.utils import timezone

from training.digests import secret_digest
from training.models import SignInLink


def live_link(token: str) -> SignInLink | None:
    """Return the link with this secret while it signs its person in (one query).

    That is until it is used, its time is over, the account is closed, or a newer one was sent.
    """
    newer = SignInLink.objects.filter(person=OuterRef("person"), pk__gt=OuterRef("pk"))
    return (
        SignInLink.objects.select_related("person")
        .filter(
            token_sha256=secret_digest(token),
            used_at=None,
            expires_at__gt=timezone.now(),
            person__is_active=True,
        )
        .exclude(Exists(newer))
        .first()
    )
