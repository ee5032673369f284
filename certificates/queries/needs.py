"""What the posts of a project ask for, and which records answer it from when to when."""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from uuid import UUID

from django.utils.translation import gettext as _

from assessments.engine import EngineError
from assessments.engine.qualification import Range, Rules, covers, load_need, range_of
from certificates.models import Post
from certificates.queries.qualified import Held
from certificates.queries.standing import DOUBTFUL, NOT_ISSUED, REPLACED, SUSPENDED, WITHDRAWN
from training.models import Program
from training.said import said

NEVER = frozenset({DOUBTFUL, NOT_ISSUED, REPLACED, SUSPENDED, WITHDRAWN})
"""Words of a record that does not count, and of which nobody knows that it ever will again."""
LEAD = "/lead"
Stretch = tuple[date, date]


@dataclass(frozen=True, slots=True)
class Ask:
    """A record of the program ``code`` of that provider, of ``version`` or later.

    ``conditions`` is the need document that its range has to cover, as JSON with sorted keys.
    """

    provider: int
    code: str
    version: int
    title: str
    conditions: str = "{}"

    def takes(self, held: Held) -> bool:
        """Whether the record is of this program and late enough; says nothing about its range."""
        same = (held.provider_id, held.program_code) == (self.provider, self.code)
        return same and held.program_version >= self.version


@dataclass(frozen=True, slots=True)
class Place:
    """The places of a post, or those of its leads, which have ``key`` ``CODE/lead``.

    A mason who fills one answers each of the ``asks``.
    """

    key: str
    title: str
    places: int
    post: Post
    asks: tuple[Ask, ...]


def places_of(posts: Iterable[Post]) -> list[Place]:
    """The places of the posts, each post's before its leads'; posts come with their programs."""
    found = []
    for post in posts:
        found.append(place_of(post))
        if post.leads:
            found.append(place_of(post, leads=True))
    return found


def place_of(post: Post, *, leads: bool = False) -> Place:
    """The places of a post, or of its leads, who need a record of both programs."""
    work = _ask(post.program, post.conditions)
    if not leads:
        return Place(post.code, f"{post.code}, {post.title}", post.places, post, (work,))
    asks = (work,) if post.lead_program is None else (work, _ask(post.lead_program, {}))
    # Submittals keep the title in their sentences; pages show it by wording.place_title.
    return Place(f"{post.code}{LEAD}", f"{post.code}, lead", post.leads, post, asks)


def _ask(program: Program, conditions: object) -> Ask:
    document = json.dumps(conditions or {}, sort_keys=True, ensure_ascii=False)
    return Ask(program.provider_id, program.code, program.version, program.title, document)


class Judge:
    """Whether the range of a standard covers what is asked; each pair is judged once."""

    def __init__(self, rules: Mapping[UUID, Rules | None]) -> None:
        self.rules = rules
        self._ranges: dict[UUID, Range] = {}
        self._known: dict[tuple[str, UUID], tuple[str, ...]] = {}

    def shortfalls(self, ask: Ask, standard: UUID) -> tuple[str, ...]:
        """A sentence for each condition that is not covered; none when all are.

        A standard without rules covers what asks for no conditions, and nothing else.
        """
        key = (ask.conditions, standard)
        if key not in self._known:
            self._known[key] = self._judged(json.loads(ask.conditions), standard)
        return self._known[key]

    def _judged(self, conditions: Mapping[str, object], standard: UUID) -> tuple[str, ...]:
        if not conditions:
            return ()
        rules = self.rules.get(standard)
        if rules is None:
            return (
                _(
                    "The passing standard of the record sets no range of qualification, so that "
                    "the record covers only posts without conditions."
                ),
            )
        if standard not in self._ranges:
            self._ranges[standard] = range_of(rules)
        found = []
        # One after the other: what the standard does not know hides nothing of the rest.
        for key, value in conditions.items():
            try:
                need = load_need(rules, {key: value})
            except EngineError as error:
                found.append(
                    _("The record cannot be compared with what is asked: {message}").format(
                        message=said(error.message)
                    )
                )
            else:
                found += [said(each.sentence) for each in covers(self._ranges[standard], need)]
        return tuple(found)


def counting(held: Held, *, confirming: bool = False) -> Stretch | None:
    """The first and the last day on which the record counts; None when it does on none.

    ``confirming`` takes it that the employer goes on confirming: only its last day of validity
    ends a record that counts. Whatever does not count now does not count later either.
    """
    if held.word in NEVER:
        return None
    end = held.valid_until if confirming and held.counts else held.counts_until
    stretch = (held.counts_from, end or date.max)
    return stretch if stretch[0] <= stretch[1] else None
