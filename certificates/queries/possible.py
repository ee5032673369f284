"""What a lead can do about a record as it stands, each with what it does in a sentence."""

from dataclasses import dataclass

from certificates.models import StatusChange
from certificates.queries.life import Life
from certificates.queries.standing import REPLACED, WITHDRAWN
from training.models import Person

S = StatusChange.Change


@dataclass(frozen=True)
class Possible:
    """``name`` is the address of its page; ``sentence`` says what it does."""

    name: str
    label: str
    sentence: str


SUSPEND = Possible(
    "record_suspend",
    "Suspend it",
    "It does not hold until a lead restores it. The holder is told.",
)
RESTORE = Possible(
    "record_restore",
    "Restore it",
    "The suspension ends and the record holds again. The holder is told.",
)
WITHDRAW = Possible(
    "record_withdraw",
    "Propose to withdraw it",
    "After a second lead has confirmed, it never holds again. The holder is told then.",
)
ANSWER = Possible(
    "record_withdrawal",
    "Answer the proposal",
    "Confirm, and the record never holds again; decline, and it stays as it is.",
)
CORRECT = Possible(
    "record_correct",
    "Correct the holder's name",
    "A new record with the right name takes the place of this one. The holder is told.",
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
