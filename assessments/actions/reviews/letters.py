"""The e-mails about a review: to the trainee, who decided, who looks again, and the leads."""

from collections.abc import Callable, Iterable

from django.utils.translation import gettext as _

from assessments.models import Review
from training.letters import address, send_letter
from training.models import Person, Role

FOLDER = "assessments/reviews/email"


def tell_asked(review: Review) -> None:
    """Ask the leads to choose a reviewer; confirm to the trainee that it was asked for."""
    _send(review, "asked_lead", leads(review), lambda: _("A review is asked for"))
    _send(review, "asked", [review.asked_by], lambda: _("You asked for a review"))


def tell_taken_back(review: Review) -> None:
    """Tell the leads, and whoever was at work on it, that it was taken back."""
    people = [*leads(review), *([review.reviewer] if review.reviewer else [])]
    _send(review, "taken_back", people, lambda: _("A review was taken back"))


def tell_given(review: Review, before: Person | None) -> None:
    """Ask the reviewer to score; tell who had it that it is with somebody else now."""
    assert review.reviewer is not None
    _send(review, "given", [review.reviewer], lambda: _("Please look at a result again"))
    if before is not None:
        _send(review, "given_away", [before], lambda: _("A review is with somebody else now"))


def tell_stepped_down(review: Review, reviewer: Person, reason: str) -> None:
    """Tell the leads that a reviewer is to be chosen again."""
    people = [each for each in leads(review) if each != reviewer]
    context = {"from_whom": reviewer, "why": reason}
    _send(review, "handed_back", people, lambda: _("A review was handed back"), context)


def tell_answered(review: Review) -> None:
    """Tell the outcome to the trainee, to who had decided, and to the leads; each once."""
    _send(review, "answered", [review.asked_by], lambda: _("Your review is answered"))
    others = [review.decision.decided_by, *leads(review)]
    told = {review.asked_by_id, review.reviewer_id}
    people = {each.pk: each for each in others if each.pk not in told}
    _send(review, "answered_staff", people.values(), lambda: _("A review is answered"))


def leads(review: Review) -> list[Person]:
    """Return the leads of the provider but the one who asked, by name (one query)."""
    provider = review.attempt.enrolment.run.program.provider_id
    return list(
        Person.objects.filter(
            roles__organisation=provider, roles__kind=Role.Kind.LEAD, is_active=True
        ).exclude(pk=review.asked_by_id)
    )


def _send(
    review: Review,
    name: str,
    people: Iterable[Person],
    subject: Callable[[], str],
    context: dict[str, object] | None = None,
) -> None:
    about = {
        "review": review,
        "attempt": review.attempt,
        "program": review.attempt.enrolment.run.program,
        "run": review.attempt.enrolment.run,
        "trainee": review.asked_by,
        "page": address("review", pk=review.pk),
        "result_page": address("attempt", pk=review.attempt_id),
        **(context or {}),
    }
    for person in people:
        send_letter(person, subject=subject, template=f"{FOLDER}/{name}.txt", context=about)
