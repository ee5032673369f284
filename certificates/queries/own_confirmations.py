"""What keeps a holder's own records, and who confirmed it."""

from dataclasses import dataclass

from certificates.models import Confirmation
from certificates.queries.continuity import confirmations_of
from certificates.queries.qualified import Held, held_by, told_tone, tone_of
from training.models import Person


@dataclass(frozen=True)
class OwnChain:
    """A record as it stands today, and every confirmation of it, also those taken back."""

    held: Held
    confirmations: list[Confirmation]

    @property
    def status(self) -> tuple[str, str, str]:
        """Tone, shape and words of how it stands."""
        return told_tone(tone_of(self.held.word))


def own_chains(person: Person) -> list[OwnChain]:
    """Return the records of ``person`` that are kept by confirmations, or had any (3 queries)."""
    held = held_by([person.pk])
    found: dict[object, list[Confirmation]] = {each.attempt_id: [] for each in held}
    for confirmation in confirmations_of(found):
        found[confirmation.attempt_id].append(confirmation)
    return [
        OwnChain(each, found[each.attempt_id])
        for each in held
        if each.confirm_by is not None or found[each.attempt_id]
    ]
