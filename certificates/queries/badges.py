"""What a badge says on its day."""

from dataclasses import dataclass
from datetime import date

from certificates.models import DayPlace
from certificates.queries.crew_days import today_at
from certificates.queries.day_reasons import reasons_of
from certificates.queries.needs import Ask, Judge, place_of
from certificates.queries.qualified import Held, held_by
from certificates.queries.ranges import rules_of
from certificates.queries.why_not import reasons


@dataclass(frozen=True)
class Badge:
    """Whether the person is qualified today; ``numbers`` are those of the records for it."""

    day: date
    qualified: bool
    numbers: tuple[str, ...]


def badge_of(place: DayPlace) -> Badge | None:
    """Return what the badge says now; None on any other day than its own, where the project is."""
    project = place.project
    if place.day != today_at(project):
        return None
    qualified = not reasons_of(project, [place], place.day)[place.pk]
    if not qualified:
        # Why, and by which records, is for the manager and the owner, not for who finds a badge.
        return Badge(place.day, qualified, ())
    asks = place_of(place.post, leads=place.leads).asks
    held = [one for one in held_by([place.person_id]) if one.counts]
    judge = Judge(rules_of({one.standard_id for one in held}))
    numbers = {
        one.number for one in held if any(_answers(ask, one, judge, place.day) for ask in asks)
    }
    return Badge(place.day, qualified, tuple(sorted(numbers)))


def _answers(ask: Ask, one: Held, judge: Judge, day: date) -> bool:
    same = (one.provider_id, one.program_code) == (ask.provider, ask.code)
    return same and not reasons(ask, [one], judge, day)
