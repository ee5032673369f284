"""What the page of an attempt tells of reviews: what can be asked for, and what came of it."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from assessments.models import Attempt, Decision, Review
from assessments.queries.after_result import after_result
from assessments.queries.calibration.authority import site_day
from assessments.queries.past import Past
from assessments.queries.reviews.carried import carrying
from assessments.queries.reviews.terms import term_of, why_not_ask
from training.models import Person
from training.queries.scope import is_lead


@dataclass(frozen=True)
class Link:
    """A decision of the chain: whether it counts, the review that answered it or that made it."""

    decision: Decision
    counts: bool
    review: Review | None
    made_by: Review | None


@after_result
def reviews_of(
    attempt: Attempt, decision: Decision | None, past: Past, person: Person
) -> Mapping[str, Any]:
    """Tell how the result came about, and whether a review can be asked for (two queries)."""
    if decision is None and attempt.state == Attempt.State.OPEN:
        return {"review_shown": False, "review_chain": []}
    reviews = [each for each in past.reviews if each.attempt_id == attempt.pk]
    retakes = carrying(attempt, past.retakes)
    under_way = next((each for each in reviews if each.state in Review.UNDER_WAY), None)
    own = attempt.enrolment.person_id == person.pk
    readable = under_way is not None and (
        person.pk in (under_way.asked_by_id, under_way.reviewer_id)
        or is_lead(person, attempt.enrolment.run.program.provider)
    )
    return {
        "review_shown": decision is not None and (own or under_way is not None),
        "review_under_way": under_way,
        "review_readable": readable,
        "review_why_not": why_not_ask(attempt, decision, site_day(attempt), reviews, retakes),
        "review_term": term_of(attempt, decision, retakes) if decision else None,
        "review_chain": _chain(attempt, reviews),
    }


def _chain(attempt: Attempt, reviews: list[Review]) -> list[Link]:
    """Return the decisions, the newest first; none where nobody looked at the result again."""
    answered = {each.decision_id: each for each in reviews if each.state == Review.State.ANSWERED}
    if not answered:
        return []
    decisions = list(
        attempt.decisions.select_related("decided_by")
        .defer("document", "observations")
        .order_by("-decided_at")
    )
    made = {each.result_id: each for each in reviews if each.result_id}
    replaced = {each.replaces_id for each in decisions}
    void = attempt.state == Attempt.State.VOID
    return [
        Link(
            each,
            each.pk not in replaced and not void,
            answered.get(each.pk),
            made.get(each.pk),
        )
        for each in decisions
    ]
