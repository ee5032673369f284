"""Why those placed on a day are not qualified for their posts, for all posts at once."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from datetime import date

from django.db.models import Exists, OuterRef, Q, QuerySet
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop as N_

from certificates.models import DayPlace, Project
from certificates.queries.crew_days import today_at
from certificates.queries.needs import Judge, place_of
from certificates.queries.qualified import Held, held_by
from certificates.queries.ranges import rules_of
from certificates.queries.why_not import reasons
from training.models import Employment, Person

NOT_ON_THE_CREW = N_("No longer on the crew.")


def reasons_of(
    project: Project, places: Sequence[DayPlace], day: date
) -> dict[int, tuple[str, ...]]:
    """Return, by the key of each place, why its person is not qualified there; none: qualified.

    As ``why_not`` says it post by post, in a number of queries that is the same for any number of
    posts and people. Of somebody who left the contractor only that is told: the records are no
    business of the former employer.
    """
    if not places:
        return {}
    people = {each.person_id for each in places}
    crew = set(crew_on(project, day).filter(pk__in=people).values_list("pk", flat=True))
    held = held_by(crew, at=day if day < today_at(project) else None)
    judge = Judge(rules_of({one.standard_id for one in held}))
    own: dict[int, list[Held]] = defaultdict(list)
    for one in held:
        own[one.holder_id].append(one)
    return {
        each.pk: _reasons(each, own[each.person_id], judge, day)
        if each.person_id in crew
        else (_(NOT_ON_THE_CREW),)
        for each in places
    }


def crew_on(project: Project, day: date) -> QuerySet[Person]:
    """Return whom the contractor employs both today, where the project is, and on ``day``.

    Whoever has left, or starts later, does not let the contractor see any record today.
    """
    days = (today_at(project), day)
    return Person.objects.filter(*(Exists(_employments(project, each)) for each in days))


def _employments(project: Project, day: date) -> QuerySet[Employment]:
    return Employment.objects.filter(
        Q(until__isnull=True) | Q(until__gte=day),
        person=OuterRef("pk"),
        organisation=project.contractor_id,
        since__lte=day,
    )


def _reasons(each: DayPlace, held: list[Held], judge: Judge, day: date) -> tuple[str, ...]:
    asks = place_of(each.post, leads=each.leads).asks
    return tuple(text for ask in asks for text in reasons(ask, held, judge, day))
