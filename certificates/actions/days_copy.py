"""Copying who was placed on one day to another."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from itertools import groupby

from django.db import transaction
from django.utils.translation import gettext as _

from certificates.actions.days import kept, room, saved
from certificates.models import DayPlace, Post, Project
from certificates.queries.day_reasons import crew_on
from certificates.queries.days import elsewhere, places_on
from certificates.queries.why_not import why_not
from training.errors import Refused
from training.models import Person


@dataclass(frozen=True)
class LeftOut:
    """Who was not copied from a post, and the sentence that says why."""

    person: Person
    post: Post
    why: str


@dataclass(frozen=True)
class Copied:
    """What came of copying ``source``: how many were placed, and who was left out."""

    source: date
    placed: int
    left_out: Sequence[LeftOut]


@transaction.atomic
def copy_day(*, actor: Person, project: Project, day: date, source: date) -> Copied:
    """Place on ``day`` whoever was placed on ``source``, where that is possible.

    Who has left, is somewhere already, finds the post full or not worked, or is not qualified on
    ``day`` is left out and told with the reason: placing somebody who is not qualified takes the
    manager's own tick. Raises PermissionDenied for anybody but a manager of the contractor;
    Refused for a day that is over, and where there is nothing to copy.
    """
    row = kept(actor, project, day)
    before = places_on(row, source) if source < day else []
    if not before:
        raise Refused(_("There is no earlier day with a list to copy from."), field="day")
    people = [each.person for each in before]
    crew = set(crew_on(row, day).values_list("pk", flat=True))
    taken = elsewhere(row, day, people)
    placed, left_out = 0, []
    for (post, leads), group in groupby(before, key=lambda each: (each.post, each.leads)):
        fit: list[Person] = []
        for place, why in _told(list(group), day, crew=crew, taken=taken):
            full = not why and len(fit) >= room(post, day, leads=leads)
            if why or full:
                why = why or _("The post has no place left on this day.")
                left_out.append(LeftOut(place.person, post, why))
            else:
                fit.append(place.person)
        if fit:
            saved(actor, row, post, day, fit, leads=leads, unqualified={})
            placed += len(fit)
    return Copied(source, placed, left_out)


def _told(
    group: Sequence[DayPlace], day: date, *, crew: set[int], taken: dict[int, str]
) -> list[tuple[DayPlace, str]]:
    """Return each place of one post with the reason not to copy it; "" where there is none."""
    post, leads = group[0].post, group[0].leads
    still = [each.person_id for each in group if each.person_id in crew]
    reasons = why_not(post, still, on=day, leads=leads)
    told = []
    for each in group:
        why = ""
        if not post.starts_on <= day <= post.ends_on:
            why = _("The post is not worked on this day.")
        elif each.person_id not in crew:
            why = _("Not on the crew on this day.")
        elif each.person_id in taken:
            why = taken[each.person_id]
        elif reasons[each.person_id]:
            why = _("Not qualified for this post: {reasons}").format(
                reasons=" ".join(reasons[each.person_id])
            )
        told.append((each, why))
    return told
