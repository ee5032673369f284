"""What happened to a record, from its issue on, as its page lists it."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime

from certificates.models import Doubt, Record, StatusChange, WithdrawalProposal
from certificates.queries.standing import DOUBTFUL, REPLACED, Standing, standing_of
from training.models import Person, Role

ISSUED = "issued"
PROPOSED = "proposed"
DECLINED = "declined"
DECIDED_ANEW = "decided_anew"
S = StatusChange.Change


@dataclass(frozen=True)
class Step:
    """One thing that happened; ``number`` is that of another record concerned."""

    at: datetime
    word: str
    by: Person | None = None
    second: Person | None = None
    reason: str = ""
    number: str = ""


@dataclass(frozen=True)
class Life:
    """The steps in the order of time, how the record stands, and what waits.

    ``seen`` counts changes, proposals and answers, for the actions to compare.
    """

    record: Record
    steps: list[Step]
    standing: Standing
    waiting: WithdrawalProposal | None
    seen: int

    @property
    def last_change(self) -> str:
        """The word of the latest change of status; "" when there is none."""
        changes = list(self.record.status_changes.all())
        return changes[-1].change if changes else ""


def life_of(record: Record, *, inside: bool) -> Life:
    """Return the life of ``record``, fetched by ``with_standing``; four queries.

    ``inside`` is for leads of the provider: only they see proposals and answers.
    """
    proposals = list(
        WithdrawalProposal.objects.filter(record=record).select_related("by", "answer__by")
    )
    answers = [proposal.answer for proposal in proposals if hasattr(proposal, "answer")]
    steps = [Step(record.issued_at, ISSUED, record.issued_by, number=_number(record.replaces))]
    steps += _changes(record)
    steps += _others(record)
    if inside:
        steps += [Step(each.at, PROPOSED, each.by, reason=each.reason) for each in proposals]
        steps += [
            Step(each.at, DECLINED, each.by, reason=each.note)
            for each in answers
            if not each.confirmed
        ]
    steps.sort(key=lambda step: step.at)
    waiting = next((each for each in proposals if not hasattr(each, "answer")), None)
    seen = record.status_changes.count() + len(proposals) + len(answers)
    return Life(record, steps, standing_of(record), waiting, seen)


def other_leads(record: Record, person: Person) -> list[Person]:
    """Return the leads of the provider but ``person`` and the holder: they can confirm."""
    roles = Role.objects.filter(organisation=record.provider_id, kind=Role.Kind.LEAD)
    return [
        role.person
        for role in roles.exclude(person__in=[person.pk, record.holder_id])
        .select_related("person")
        .order_by("person__full_name")
    ]


def _changes(record: Record) -> Iterator[Step]:
    for change in record.status_changes.select_related("by", "second"):
        yield Step(change.at, change.change, change.by, change.second, change.reason)


def _others(record: Record) -> Iterator[Step]:
    """Yield what happened outside the record that changed how it stands."""
    for doubt in Doubt.objects.filter(record=record).select_related("compromise__by"):
        made = doubt.compromise
        yield Step(made.at, DOUBTFUL, made.by, reason=made.reason)
    successor = getattr(record, "replaced_by", None)
    if successor is not None:
        yield Step(successor.issued_at, REPLACED, successor.issued_by, number=successor.number)
    anew = getattr(record.decision, "replaced_by", None)
    if anew is not None:
        review = getattr(anew, "made_by_review", None)
        why = review.answer if review else ""
        yield Step(anew.decided_at, DECIDED_ANEW, anew.decided_by, reason=why)


def _number(record: Record | None) -> str:
    return record.number if record else ""
