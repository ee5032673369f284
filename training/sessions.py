"""What a session of the web remembers: since when it is signed in, and what a passkey must sign."""

import secrets
import time
from typing import Any

from django.contrib.auth.signals import user_logged_in
from django.dispatch import receiver
from django.http import HttpRequest
from webauthn.helpers import base64url_to_bytes, bytes_to_base64url

SIGNED_IN_AT = "signed_in_at"
CHALLENGE = "passkey_challenge"
CHALLENGE_BYTES = 32
# Seconds: how long a sign-in is fresh, and how long a challenge may be answered.
FRESH = 15 * 60
ANSWERED = 5 * 60


@receiver(user_logged_in, dispatch_uid="training.sessions.note_sign_in")
def note_sign_in(request: HttpRequest | None, **_kwargs: Any) -> None:
    """Remember when this session was signed in."""
    if request is not None:
        request.session[SIGNED_IN_AT] = int(time.time())


def signed_in_lately(request: HttpRequest) -> bool:
    """Say whether this session was signed in within the last 15 minutes."""
    return _is_within(request.session.get(SIGNED_IN_AT), FRESH)


def new_challenge(request: HttpRequest, purpose: str) -> bytes:
    """Return 32 random bytes for a passkey to sign; the session keeps one at a time."""
    challenge = secrets.token_bytes(CHALLENGE_BYTES)
    request.session[CHALLENGE] = {
        "for": purpose,
        "challenge": bytes_to_base64url(challenge),
        "at": int(time.time()),
    }
    return challenge


def take_challenge(request: HttpRequest, purpose: str) -> bytes | None:
    """Take the challenge out of the session, for good; None when there is none to be answered."""
    kept = request.session.pop(CHALLENGE, None)
    if not kept or kept["for"] != purpose or not _is_within(kept["at"], ANSWERED):
        return None
    return base64url_to_bytes(kept["challenge"])


def _is_within(at: int | None, seconds: int) -> bool:
    return at is not None and 0 <= time.time() - at <= seconds
