"""Why a coverage breaks, beside what the coverage itself says of it."""

from collections.abc import Sequence
from datetime import date

from django.utils.translation import gettext as _

from certificates.coverage import Able
from certificates.queries.coverage_rows import DAY, GapDays
from certificates.queries.project_coverage import ProjectCoverage
from certificates.queries.why_not import reasons
from certificates.wording import day, place_named

MOST = 6


def endings(found: ProjectCoverage) -> list[str]:
    """Why those who are missed on the first day short could fill a post only until then.

    A sentence each, of the first few; empty when every day is covered.
    """
    broken = found.coverage.breaks
    return _told(found, broken.ended, broken.day) if broken else []


def gap_endings(found: ProjectCoverage, row: GapDays) -> list[str]:
    """The same for a gap of any day: who could fill one of its posts until the day before."""
    gap, before = row.gap, row.first - DAY
    others = {*gap.people, *gap.counted}
    ended = [
        one
        for one in found.facts.able
        if one.last == before and one.post in gap.posts and one.person not in others
    ]
    return _told(found, ended, row.first)


def _told(found: ProjectCoverage, ended: Sequence[Able], on: date) -> list[str]:
    told = [_ending(found, one, on) for one in ended[:MOST]]
    more = len(ended) - len(told)
    return [*told, _("And {more} more.").format(more=more)] if more else told


def _ending(found: ProjectCoverage, one: Able, on: date) -> str:
    facts, person = found.facts, int(one.person)
    place = next(place for place in facts.places if place.key == one.post)
    name, post = found.people[person], place_named(place.title)
    if one.last is not None and any(one.last == last for _first, last in facts.crew.days[person]):
        return _("{name} at post {post}: employed until {day} only.").format(
            name=name, post=post, day=day(one.last)
        )
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
    return _("{name} at post {post}: {why}").format(name=name, post=post, why=" ".join(why))
