"""Adding a passkey to the own account, signing in with one, taking one away."""

from django.db import IntegrityError, transaction
from django.utils import timezone
from django.utils.translation import gettext as _
from webauthn.registration.verify_registration_response import VerifiedRegistration

from training.actions.log import write_log
from training.errors import Refused
from training.letters import address, send_letter
from training.models import Passkey, Person
from training.passkeys import (
    WrongAnswerError,
    checked_addition,
    checked_sign_in,
    read_answer,
    user_handle,
)

MOST = 20
LONGEST_NAME = 100
LONGEST_ID = 1023  # bytes; W3C Web Authentication Level 2, section 4, "Credential ID"
EMAIL = "training/account/email"


def add_passkey(*, person: Person, name: str, answer: str, challenge: bytes | None) -> Passkey:
    """Save a new passkey of ``person`` and tell the person of it by e-mail.

    ``answer`` is the browser's JSON, ``challenge`` what it was asked with, None when that is
    over. Raises Refused: at ``name``, or for an answer that does not hold.
    """
    name = " ".join(name.split())
    if not name:
        raise Refused(_("Write a name by which you will know it, such as My phone."), field="name")
    if len(name) > LONGEST_NAME:
        raise Refused(_("Write {most} characters at most.").format(most=LONGEST_NAME), field="name")
    try:
        if challenge is None:
            raise WrongAnswerError("The challenge is over, or was used.")
        found = checked_addition(answer, challenge)
    except WrongAnswerError:
        raise Refused(_("The device's answer could not be used. Press the button again.")) from None
    if len(found.credential_id) > LONGEST_ID:
        raise Refused(_("This device makes passkeys that cannot be kept here. Use another one."))
    with transaction.atomic():
        # One at a time, so that the number of them holds.
        Person.objects.select_for_update(no_key=True).get(pk=person.pk)
        if person.passkeys.count() >= MOST:
            raise Refused(
                _("You have {most} passkeys: remove one that you do not use first.").format(
                    most=MOST
                )
            )
        passkey = _saved(person, name, found)
        send_letter(
            person,
            subject=lambda: _("A passkey was added to your account"),
            template=f"{EMAIL}/passkey_added.txt",
            context={"passkey": passkey, "url": address("account")},
        )
        write_log(actor=person, verb="passkey.added", subject=person, data={"passkey": passkey.pk})
    return passkey


def use_passkey(*, answer: str, challenge: bytes | None) -> Person:
    """Return who signs in with the browser's JSON ``answer``; the passkey is noted as used.

    Raises Refused with one and the same sentence for whatever does not hold, and with another
    for a passkey whose count says that a copy of it is in use: its holder is told by e-mail.
    """
    refused = Refused(
        _(
            "This passkey does not sign you in. It may have been removed here: delete it on the "
            "device, and sign in by another way."
        )
    )
    if challenge is None:
        raise Refused(_("That took too long. Press the button again."))
    try:
        given = read_answer(answer)
        with transaction.atomic():
            passkey = (
                Passkey.objects.select_for_update(of=("self",))
                .select_related("person")
                .filter(credential_id=given.raw_id, person__is_active=True)
                .first()
            )
            if passkey is None or given.response.user_handle != user_handle(passkey.person):
                raise refused
            found = checked_sign_in(given, challenge, bytes(passkey.public_key))
            copied = _went_back(passkey.sign_count, found.new_sign_count)
            if copied:
                _tell_of_copy(passkey, found.new_sign_count)
            else:
                _note_use(passkey, found.new_sign_count)
    except WrongAnswerError:
        raise refused from None
    if copied:
        raise Refused(
            _(
                "Somebody seems to have a copy of this passkey, so it signs nobody in. Sign in by "
                "another way, remove it under My account and add a new one."
            )
        )
    return passkey.person


@transaction.atomic
def remove_passkey(*, person: Person, passkey: Passkey) -> None:
    """Take away a passkey of ``person``; on the device it stays until it is deleted there."""
    key = passkey.pk
    person.passkeys.filter(pk=key).delete()
    write_log(actor=person, verb="passkey.removed", subject=person, data={"passkey": key})


def _went_back(before: int, now: int) -> bool:
    """Compare sign counts as section 7.2, step 21, says; both 0 is a device that does not count."""
    return (before, now) != (0, 0) and now <= before


def _saved(person: Person, name: str, found: VerifiedRegistration) -> Passkey:
    try:
        with transaction.atomic():
            return Passkey.objects.create(
                person=person,
                name=name,
                credential_id=found.credential_id,
                public_key=found.credential_public_key,
                sign_count=found.sign_count,
            )
    except IntegrityError:
        raise Refused(_("This passkey is known here already.")) from None


def _note_use(passkey: Passkey, count: int) -> None:
    passkey.sign_count, passkey.used_at = count, timezone.now()
    passkey.save(update_fields=["sign_count", "used_at"])
    write_log(
        actor=passkey.person,
        verb="passkey.used",
        subject=passkey.person,
        data={"passkey": passkey.pk},
    )


def _tell_of_copy(passkey: Passkey, count: int) -> None:
    send_letter(
        passkey.person,
        subject=lambda: _("One of your passkeys may have been copied"),
        template=f"{EMAIL}/passkey_copied.txt",
        context={"passkey": passkey, "url": address("account")},
    )
    write_log(
        actor=None,
        verb="passkey.copy_suspected",
        subject=passkey.person,
        data={"passkey": passkey.pk, "kept": passkey.sign_count, "given": count},
    )
