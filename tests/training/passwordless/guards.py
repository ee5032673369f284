"""What the database refuses of ways to sign in and of complaints: part of ``test_guards.py``."""

from collections.abc import Callable
from datetime import timedelta

from django.utils import timezone

from tests.training.yard import Yard
from training.models import Complaint, Passkey, Pin, SignInAsked, SignInLink

D = "a" * 64


def link(yard: Yard, **fields: object) -> SignInLink:
    """Save a sign-in link of the trainee."""
    now = timezone.now()
    values = {"token_sha256": D, "made_at": now, "expires_at": now + timedelta(minutes=15)}
    return SignInLink.objects.create(**{"person": yard.trainee, **values, **fields})


BREAK_WAYS_IN: dict[str, Callable[[Yard], object]] = {
    "sign_in_link_token_form": lambda y: link(y, token_sha256="A" * 64),
    "sign_in_link_expires_later": lambda y: link(y, expires_at=timezone.now() - timedelta(days=1)),
    "sign_in_asked_source_form": lambda y: SignInAsked.objects.create(source="192.0.2.1"),
    "passkey_name_given": lambda y: Passkey.objects.create(
        person=y.trainee, name="", credential_id=b"\x01", public_key=b"\x02"
    ),
    "pin_hashed": lambda y: Pin.objects.create(person=y.trainee, hashed=""),
    "complaint_kind_known": lambda y: Complaint.objects.create(
        provider=y.provider, text="A heater.", kind="food"
    ),
    "complaint_not_answered_by_concerned": lambda y: Complaint.objects.create(
        provider=y.provider,
        text="A heater.",
        concerns=y.lead,
        state="answered",
        answer="Mended.",
        answered_by=y.lead,
        answered_at=timezone.now(),
    ),
}
