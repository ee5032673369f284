"""The PIN by which a person says yes on somebody else's device: set, taken away, tried."""

from datetime import datetime, timedelta
from itertools import pairwise

from django.contrib.auth.hashers import check_password, make_password
from django.db import transaction
from django.utils import timezone
from django.utils.formats import date_format
from django.utils.translation import gettext as _

from training.actions.log import write_log
from training.errors import Refused
from training.letters import address, send_letter
from training.models import Person, Pin

SHORTEST, LONGEST = 4, 8
MOST_WRONG = 5
CLOSED = timedelta(minutes=15)
_YEARS = ("19", "20")


@transaction.atomic
def set_pin(*, person: Person, pin: str, again: str) -> None:
    """Save the own PIN, in place of an earlier one, as a salted hash.

    Raises Refused, at ``pin`` or ``again``, for anything but 4 to 8 digits, for one that is
    guessed first (``trivial``), and where the two differ.
    """
    if not (pin.isascii() and pin.isdigit() and SHORTEST <= len(pin) <= LONGEST):
        raise Refused(_("Write 4 to 8 digits, and nothing else."), field="pin")
    if trivial(pin):
        raise Refused(
            _(
                "This one is guessed at once: choose digits that are no run, no repetition "
                "and no year."
            ),
            field="pin",
        )
    if pin != again:
        raise Refused(_("The two do not match: write the same digits again."), field="again")
    fresh = {"hashed": make_password(pin), "set_at": timezone.now(), "wrong": 0}
    Pin.objects.update_or_create(person=person, defaults={**fresh, "closed_until": None})
    write_log(actor=person, verb="pin.set", subject=person)


@transaction.atomic
def remove_pin(*, person: Person) -> None:
    """Take the own PIN away; without one nothing happens."""
    if Pin.objects.filter(person=person).delete()[0]:
        write_log(actor=person, verb="pin.removed", subject=person)


def require_pin(*, person: Person, pin: str, actor: Person) -> None:
    """Return if ``pin`` is that of ``person``, else raise Refused at ``pin``.

    ``actor`` is whose device it is tried on. A wrong try is counted even though what it was for
    is refused, so call this outside of a transaction: after five in a row none is looked at for 15
    minutes, not even the right one, and the person is told by e-mail.
    """
    refusal = _tried(person, pin, actor)
    if refusal:
        raise Refused(refusal, field="pin")


def trivial(pin: str) -> bool:
    """Say whether a PIN is among those guessed first.

    One digit over and over, a run up or down (9 and 0 are neighbors), a part that is repeated,
    or a year of these two centuries.

    >>> [trivial(pin) for pin in ("1111", "3456", "2109", "1212", "1984", "2580", "73914")]
    [True, True, True, True, True, False, False]
    """
    steps = {(int(b) - int(a)) % 10 for a, b in pairwise(pin)}
    if steps in ({0}, {1}, {9}):
        return True
    parts = [pin[:size] for size in range(1, len(pin) // 2 + 1) if len(pin) % size == 0]
    if any(part * (len(pin) // len(part)) == pin for part in parts):
        return True
    return len(pin) == len("1984") and pin.startswith(_YEARS)


@transaction.atomic
def _tried(person: Person, pin: str, actor: Person) -> str:
    """Count a try and return why it is refused; empty when it is right."""
    # The lock makes tries queue, so that none is counted twice or not at all.
    kept = Pin.objects.select_for_update().filter(person=person).first()
    if kept is None:
        return _("{person} has no PIN yet: it is set under My account, on any device.").format(
            person=person
        )
    now = timezone.now()
    if kept.closed_until and kept.closed_until > now:
        return _closed(kept.closed_until)
    if check_password(pin, kept.hashed):
        Pin.objects.filter(pk=kept.pk).update(wrong=0, closed_until=None)
        return ""
    wrong = kept.wrong + 1
    if wrong < MOST_WRONG:
        Pin.objects.filter(pk=kept.pk).update(wrong=wrong, closed_until=None)
        return _("This is not the PIN of {person}.").format(person=person)
    until = now + CLOSED
    Pin.objects.filter(pk=kept.pk).update(wrong=0, closed_until=until)
    write_log(actor=actor, verb="pin.closed", subject=person)
    send_letter(
        person,
        subject=lambda: _("Your PIN was tried and is closed for 15 minutes"),
        template="training/account/email/pin_closed.txt",
        context={"actor": actor, "address": address("account")},
    )
    return _closed(until)


def _closed(until: datetime) -> str:
    return _(
        "Too many wrong tries: this PIN is closed until {time}. "
        "The result can also be acknowledged on the trainee's own phone."
    ).format(time=date_format(timezone.localtime(until), "H:i"))
