"""Why a coverage breaks, beside what the coverage itself says of it."""

from certificates.coverage import Able
from certificates.coverage.wording import day, titled
from certificates.queries.project_coverage import ProjectCoverage
from certificates.queries.why_not import reasons

MOST = 6


def endings(found: ProjectCoverage) -> list[str]:
    """Why those who are missed on the first day short could fill a post only until then.

    A sentence each, of the first few; empty when every day is covered.
    """
    broken = found.coverage.breaks
    if broken is None:
        return []
    told = [_ending(found, one) for one in broken.ended[:MOST]]
    more = len(broken.ended) - len(told)
    return [*told, f"And {more} more."] if more else told


def _ending(found: ProjectCoverage, one: Able) -> str:
    facts, person = found.facts, int(one.person)
    place = next(place for place in facts.places if place.key == one.post)
    start = f"{found.people[person]} at post {titled(place.title)}: "
    if one.last is not None and any(one.last == last for _, last in facts.crew.days[person]):
        return f"{start}employed until {day(one.last)} only."
    on = found.coverage.breaks.day if found.coverage.breaks else found.coverage.first
    why = [
        text
        for ask in place.asks
        for text in reasons(
            ask,
            [
                held
                for held in facts.families.get((ask.provider, ask.code), ())
                if held.holder_id == person
            ],
            facts.judge,
            on,
            confirming=facts.confirming,
        )
    ]
    return start + " ".join(why)
