"""Ways to sign in without a password, and the PIN for an instructor's device."""

from typing import ClassVar

from django.db import models
from django.db.models import F, Q
from django.utils import timezone

from training.digests import FORM
from training.models.people import Person


class SignInLink(models.Model):
    """A link sent by e-mail that signs its reader in, once; the secret is kept as a digest."""

    person = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="sign_in_links")
    token_sha256 = models.CharField(max_length=64, unique=True)
    made_at = models.DateTimeField(default=timezone.now)
    expires_at = models.DateTimeField()
    used_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering: ClassVar = ["-made_at"]
        constraints: ClassVar = [
            models.CheckConstraint(
                name="sign_in_link_token_form", condition=Q(token_sha256__regex=FORM)
            ),
            models.CheckConstraint(
                name="sign_in_link_expires_later", condition=Q(expires_at__gt=F("made_at"))
            ),
        ]

    def __str__(self) -> str:
        return f"Sign-in link of {self.person}"


class Passkey(models.Model):
    """A WebAuthn credential (W3C Web Authentication Level 2) with which a person signs in."""

    person = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="passkeys")
    credential_id = models.BinaryField(max_length=1023, unique=True)
    public_key = models.BinaryField()
    sign_count = models.PositiveBigIntegerField(default=0)
    name = models.CharField(max_length=100)
    made_at = models.DateTimeField(default=timezone.now)
    used_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering: ClassVar = ["made_at", "id"]
        constraints: ClassVar = [
            models.CheckConstraint(name="passkey_name_given", condition=~Q(name="")),
        ]

    def __str__(self) -> str:
        return f"{self.name} of {self.person}"


class Pin(models.Model):
    """The short number by which a person says yes on somebody else's device; kept as a hash.

    ``wrong`` counts wrong tries since the last right one; ``closed_until`` is set after too many.
    """

    person = models.OneToOneField(Person, on_delete=models.PROTECT, related_name="pin")
    hashed = models.CharField(max_length=200)
    set_at = models.DateTimeField(default=timezone.now)
    wrong = models.PositiveIntegerField(default=0)
    closed_until = models.DateTimeField(null=True, blank=True)

    class Meta:
        constraints: ClassVar = [
            models.CheckConstraint(name="pin_hashed", condition=~Q(hashed="")),
        ]

    def __str__(self) -> str:
        return f"PIN of {self.person}"


class SignInAsked(models.Model):
    """One time that a sign-in link was asked for from a network, whoever it was for.

    ``source`` is a keyed digest (training/network.py); rows are forgotten after a day.
    """

    source = models.CharField(max_length=64)
    at = models.DateTimeField(default=timezone.now)

    class Meta:
        indexes: ClassVar = [models.Index(fields=["source", "at"], name="sign_in_asked_source")]
        constraints: ClassVar = [
            models.CheckConstraint(
                name="sign_in_asked_source_form", condition=Q(source__regex=FORM)
            ),
        ]

    def __str__(self) -> str:
        return f"Sign-in link asked for at {self.at}"
