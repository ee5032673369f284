"""What a lead can do about a record as it stands, each with what it does in a sentence."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from django.utils.translation import gettext_lazy as _l

from certificates.models import StatusChange
from certificates.queries.life import Life
from certificates.queries.standing import REPLACED, WITHDRAWN
from training.models import Person

if TYPE_CHECKING:
    from django_stubs_ext import StrOrPromise

S = StatusChange.Change


@dataclass(frozen=True)
class Possible:
    """``name`` is the address of its page; ``sentence`` says what it does."""

    name: str
    label: StrOrPromise
    sentence: StrOrPromise


SUSPEND = Possible(
    "record_suspend",
    _l("Suspend it"),
    _l("It does not hold until a lead restores it. The holder is told."),
)
RESTORE = Possible(
    "record_restore",
    _l("Restore it"),
    _l("The suspension ends and the record holds again. The holder is told."),
)
WITHDRAW = Possible(
    "record_withdraw",
    _l("Propose to withdraw it"),
    _l("After a second lead has confirmed, it never holds again. The holder is told then."),
)
ANSWER = Possible(
    "record_withdrawal",
    _l("Answer the proposal"),
    _l("Confirm, and the record never holds again; decline, and it stays as it is."),
)
CORRECT = Possible(
    "record_correct",
    _l("Correct the holder's name"),
    _l("A new record with the right name takes the place of this one. The holder is told."),
)


def possible(life: Life, person: Person) -> list[Possible]:
    """Return what ``person``, a lead of the provider, may do now; nothing to the own record."""
    if life.record.holder_id == person.pk or life.standing.word in (REPLACED, WITHDRAWN):
        return []
    suspended = life.last_change == S.SUSPENDED
    if life.waiting is not None:
        answer = [ANSWER] if life.waiting.by_id != person.pk else []
        return [*answer, *([] if suspended else [SUSPEND])]
    return [RESTORE, WITHDRAW] if suspended else [SUSPEND, WITHDRAW, CORRECT]
