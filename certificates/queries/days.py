"""Who is on the scaffold on a day, at which post, and whether each is qualified for the work."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date

from django.db.models import Q
from django.utils.translation import gettext as _

from certificates.models import DayPlace, Post, Project
from certificates.queries.day_reasons import reasons_of
from certificates.queries.why_not import why_not
from training.models import Person


@dataclass(frozen=True)
class Placed:
    """A person at a post; ``reasons`` say why the work there is not covered, none: it is."""

    place: DayPlace
    reasons: tuple[str, ...]

    @property
    def qualified(self) -> bool:
        """Whether the person is qualified for the work of that day."""
        return not self.reasons


@dataclass(frozen=True)
class PostDay:
    """A post on a day, and who is at it."""

    post: Post
    masons: Sequence[Placed]
    leads: Sequence[Placed]

    @property
    def free(self) -> int:
        """How many places have nobody yet."""
        return max(0, self.post.places - len(self.masons))

    @property
    def free_leads(self) -> int:
        """How many leads' places have nobody yet."""
        return max(0, self.post.leads - len(self.leads))

    @property
    def everybody(self) -> list[Placed]:
        """The leads, then the masons."""
        return [*self.leads, *self.masons]


@dataclass(frozen=True)
class DayList:
    """All posts of a project on a day, in their order."""

    project: Project
    day: date
    posts: Sequence[PostDay]

    @property
    def placed(self) -> list[Placed]:
        """Everybody who is placed, in the order of the posts."""
        return [each for row in self.posts for each in row.everybody]

    @property
    def not_qualified(self) -> list[Placed]:
        """Who is placed without being qualified for the work there."""
        return [each for each in self.placed if not each.qualified]


@dataclass(frozen=True)
class Choice:
    """Somebody who may be placed: ``elsewhere`` says where the person is already, if anywhere."""

    person: Person
    reasons: tuple[str, ...]
    elsewhere: str

    @property
    def qualified(self) -> bool:
        """Whether the person is qualified for the work of the post on that day."""
        return not self.reasons


def day_list(project: Project, day: date) -> DayList:
    """Return the posts of ``day`` with whom they have.

    A post with somebody at it is in the list even where its days were changed since.
    """
    places = places_on(project, day)
    reasons = reasons_of(project, places, day)
    held = {place.post_id for place in places}
    posts = project.posts.select_related("program", "lead_program").filter(
        Q(starts_on__lte=day, ends_on__gte=day) | Q(pk__in=held)
    )
    rows = []
    for post in posts:
        here = [Placed(each, reasons[each.pk]) for each in places if each.post_id == post.pk]
        masons = [each for each in here if not each.place.leads]
        rows.append(PostDay(post, masons, [each for each in here if each.place.leads]))
    return DayList(project, day, rows)


def places_on(project: Project, day: date) -> list[DayPlace]:
    """Return who is placed on ``day``, by post, leads first, then by name (one query)."""
    return list(
        DayPlace.objects.filter(project=project, day=day)
        .select_related("person", "post__project", "post__program", "post__lead_program")
        .order_by("post__position", "post_id", "-leads", "person__full_name", "person_id")
    )


def choices(post: Post, day: date, *, leads: bool, people: Sequence[Person]) -> list[Choice]:
    """Return ``people`` for a place at ``post``: first who is qualified and free, by name."""
    reasons = why_not(post, [person.pk for person in people], on=day, leads=leads)
    taken = elsewhere(post.project, day, people)
    found = [Choice(each, reasons[each.pk], taken.get(each.pk, "")) for each in people]
    return sorted(found, key=lambda each: (bool(each.elsewhere), not each.qualified))


def elsewhere(project: Project, day: date, people: Iterable[Person]) -> dict[int, str]:
    """Return where people are on ``day`` already, by their keys (one query).

    Of another project only that there is one: it may be another contractor's.
    """
    places = DayPlace.objects.filter(day=day, person__in=list(people)).select_related("post")
    return {
        each.person_id: _("At post {code} on this day already.").format(code=each.post.code)
        if each.project_id == project.pk
        else _("On another project on this day.")
        for each in places
    }


def day_before(project: Project, day: date) -> date | None:
    """Return the latest day before ``day`` that has a list, to copy from."""
    earlier = DayPlace.objects.filter(project=project, day__lt=day).order_by("-day")
    return earlier.values_list("day", flat=True).first()
