"""Until when a review may be asked for, and when it is to be answered."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from zoneinfo import ZoneInfo

from django.utils import timezone
from django.utils.formats import date_format
from django.utils.translation import gettext as _

from assessments.engine.second_look import review_rule
from assessments.models import Attempt, Decision, Review
from assessments.queries.calibration.authority import site_day
from assessments.queries.reviews.carried import Carrying, carrying, kept_open

# Where the program says nothing: asked for at any time, answered within this.
ANSWER_DAYS = 30


@dataclass(frozen=True)
class Term:
    """``ask_until`` is the last day to ask, None where the program sets none.

    ``answer_days`` are counted from the day of asking; ``stated``: the program says so itself.
    """

    ask_until: date | None
    answer_days: int
    stated: bool


def term_of(
    attempt: Attempt, decision: Decision, retakes: Sequence[Carrying] | None = None
) -> Term:
    """Return the term by the clock of the site; ``attempt`` with its standard and run's site.

    The day of the decision is not counted: a decision of 3 March with ten days is asked about
    until the end of 13 March. Days on which a retake was open that stands on this attempt are
    not counted either; ``retakes`` are those, read where they are not given (one query).
    """
    rule = review_rule(attempt.standard.document)
    if rule is None:
        return Term(None, ANSWER_DAYS, False)
    zone = ZoneInfo(attempt.enrolment.run.site.time_zone)
    decided = timezone.localdate(decision.decided_at, zone)
    until = decided + timedelta(days=rule.ask_within_days)
    standing = carrying(attempt) if retakes is None else retakes
    until = kept_open(until, standing, site_day(attempt))
    return Term(until, rule.answer_within_days, True)


def why_not_ask(
    attempt: Attempt,
    decision: Decision | None,
    today: date,
    reviews: Iterable[Review],
    retakes: Sequence[Carrying] | None = None,
) -> str:
    """Return why no review of the attempt's current decision can be asked for; empty if it can.

    ``reviews`` are those of the attempt, ``today`` is the site's day; ``retakes`` as for
    ``term_of``.
    """
    if attempt.state == Attempt.State.VOID:
        return _("This attempt is void: there is no result to review.")
    if decision is None:
        return _("There is no result yet. A review can be asked for once the attempt is decided.")
    states = {review.state for review in reviews}
    if states & set(Review.UNDER_WAY):
        return _("A review of this result is under way already.")
    if Review.State.ANSWERED in states:
        return _(
            "This result was looked at again already: that is done once. If something about how "
            "it was done was wrong, make a complaint."
        )
    retakes = carrying(attempt) if retakes is None else retakes
    term = term_of(attempt, decision, retakes)
    if term.ask_until is not None and today > term.ask_until:
        return _(
            "The term to ask for a review ended on {day}. If something about how the attempt was "
            "run was wrong, make a complaint: that has no term."
        ).format(day=date_format(term.ask_until, "j M Y"))
    making = next((each for each in retakes if each.ended is None), None)
    if making is not None:
        return _(
            "Attempt {number} is being made and stands on work of this one. Ask once it is "
            "decided: the days until then are not counted. To have it decided now, ask your "
            "instructor to close it as it stands."
        ).format(number=making.number)
    return ""
