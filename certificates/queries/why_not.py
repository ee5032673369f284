"""Why somebody may not fill a post on a day, in sentences."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date

from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop as N_

from certificates.models import Post
from certificates.queries.crew_days import Crew, employed_of, today_at
from certificates.queries.needs import NEVER, Ask, Judge, counting, place_of
from certificates.queries.qualified import Held, held_by
from certificates.queries.ranges import rules_of
from certificates.queries.standing import DOUBTFUL, NOT_ISSUED, REPLACED, SUSPENDED, WITHDRAWN
from certificates.wording import day

SAID = {
    SUSPENDED: N_("Record {number} is suspended."),
    WITHDRAWN: N_("Record {number} is withdrawn."),
    REPLACED: N_("Record {number} was replaced by another."),
    DOUBTFUL: N_(
        "Record {number} is doubtful: its signing key may have been in the hands of others."
    ),
    NOT_ISSUED: N_("Record {number} is not issued yet."),
}


def why_not(
    post: Post, people: Iterable[int], *, on: date, leads: bool = False
) -> dict[int, tuple[str, ...]]:
    """Sentences why each of the people may not fill ``post`` on a day; none: qualified for it.

    With ``leads``, why not as its lead. A past day is judged by what was known at its end, today
    and the days ahead by what is known now. The number of queries is the same for any number of
    people.
    """
    everybody = list(people)
    place = place_of(post, leads=leads)
    crew = employed_of(post.project, everybody)
    held = held_by(everybody, at=on if on < today_at(post.project) else None)
    judge = Judge(rules_of({one.standard_id for one in held}))
    by_person: dict[int, list[Held]] = {person: [] for person in everybody}
    for one in held:
        by_person[one.holder_id].append(one)
    return {
        person: (
            *_employed(crew, person, post, on),
            *(text for ask in place.asks for text in reasons(ask, by_person[person], judge, on)),
        )
        for person in everybody
    }


def reasons(
    ask: Ask, held: Sequence[Held], judge: Judge, on: date, *, confirming: bool = False
) -> tuple[str, ...]:
    """Why none of a person's records answers what is asked on a day; none when one does.

    Of several records the one is told about that lacks least. ``confirming`` as in ``counting``.
    """
    own = [one for one in held if (one.provider_id, one.program_code) == (ask.provider, ask.code)]
    if not own:
        return (
            _("There is no record of {title} ({code}).").format(title=ask.title, code=ask.code),
        )
    return min((_of_record(ask, one, judge, on, confirming) for one in own), key=len)


def _of_record(ask: Ask, held: Held, judge: Judge, on: date, confirming: bool) -> tuple[str, ...]:
    found = (too_old(ask, held), not_counting(held, on, confirming=confirming))
    return (*(text for text in found if text), *judge.shortfalls(ask, held.standard_id))


def too_old(ask: Ask, held: Held) -> str:
    """That the record is of an earlier version than is asked for; empty when it is not."""
    if held.program_version >= ask.version:
        return ""
    return _(
        "Record {number} is of version {older} of {title}; version {version} or a later one is "
        "asked for."
    ).format(
        number=held.number,
        older=held.program_version,
        title=ask.title,
        version=ask.version,
    )


def not_counting(held: Held, on: date, *, confirming: bool = False) -> str:
    """Why the record does not count on a day; empty when it does."""
    if held.word in NEVER:
        return _(SAID[held.word]).format(number=held.number)
    if on < held.counts_from:
        return _("Record {number} counts only from {day}.").format(
            number=held.number, day=day(held.counts_from)
        )
    stretch = counting(held, confirming=confirming)
    if stretch is None:
        return _("Record {number} counts on no day.").format(number=held.number)
    if on <= stretch[1]:
        return ""
    if stretch[1] == held.valid_until:
        return _("Record {number} is valid until {day} only.").format(
            number=held.number, day=day(stretch[1])
        )
    return _("Record {number} counts until {day} only: no later work is confirmed.").format(
        number=held.number, day=day(stretch[1])
    )


def _employed(crew: Crew, person: int, post: Post, on: date) -> tuple[str, ...]:
    if crew.on(person, on):
        return ()
    return (
        _("Not employed by {contractor} on {day}.").format(
            contractor=post.project.contractor, day=day(on)
        ),
    )
