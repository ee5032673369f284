"""Placing masons at posts for a day, and taking them off again."""

from collections.abc import Collection
from datetime import date

from django.core.exceptions import PermissionDenied
from django.db import IntegrityError, transaction
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop as N_
from django.utils.translation import ngettext

from certificates.models import DayPlace, Post, Project
from certificates.queries.crew_days import today_at
from certificates.queries.crew_scope import projects_kept_by
from certificates.queries.day_reasons import crew_on
from certificates.queries.days import elsewhere
from certificates.queries.why_not import why_not
from certificates.wording import short_day, weekday
from training.actions.log import write_log
from training.errors import Refused
from training.models import Person

PLACED_MEANWHILE = N_(
    "Somebody of these was placed elsewhere on this day at the same moment. Choose again from who "
    "is free now."
)


@transaction.atomic
def place_people(
    *,
    actor: Person,
    project: Project,
    post: Post,
    day: date,
    people: Collection[Person],
    leads: bool = False,
    knowing: Collection[int] = (),
) -> list[DayPlace]:
    """Put ``people`` at ``post`` for ``day`` and return their places.

    ``knowing`` are the keys of those of whom the actor says: not qualified for this post, and
    placed all the same. Raises PermissionDenied for anybody but a manager of the contractor;
    Refused for a day that is over, a post that is not worked on it, people who are not on the
    crew, are somewhere already, are too many, or are not qualified without being in ``knowing``.
    """
    row = kept(actor, project, day)
    worked = _worked(row, post, day)
    if not people:
        raise Refused(_("Choose whom to place."), field="people")
    _require_crew(row, day, people)
    taken = elsewhere(row, day, people)
    if taken:
        told = " ".join(f"{each}: {taken[each.pk]}" for each in people if each.pk in taken)
        raise Refused(
            _("{told} Nobody is at two posts on one day.").format(told=told), field="people"
        )
    _require_room(worked, day, len(people), leads=leads)
    reasons = why_not(worked, [each.pk for each in people], on=day, leads=leads)
    silent = [str(each) for each in people if reasons[each.pk] and each.pk not in knowing]
    if silent:
        raise Refused(
            _(
                "Not qualified for this post: {silent}. Take them out, or tick in the row "
                "of each that you place them all the same."
            ).format(silent=", ".join(silent)),
            field="knowing",
        )
    return saved(actor, row, worked, day, people, leads=leads, unqualified=reasons)


@transaction.atomic
def remove_place(*, actor: Person, place: DayPlace) -> None:
    """Take a person off a day's list; the badge is dead from then on.

    Raises PermissionDenied for anybody but a manager of the contractor; Refused for a day that
    is over, whose list stays as it was, and for a place that is gone already.
    """
    row = kept(actor, place.project, place.day)
    found = DayPlace.objects.filter(pk=place.pk).select_related("post").first()
    if found is None:
        raise Refused(_("{person} was taken off this day already.").format(person=place.person))
    data = _said(found.post, found.day, leads=found.leads)
    found.delete()
    write_log(
        actor=actor, verb="day.removed", subject=row, data={**data, "people": [found.person_id]}
    )


def kept(actor: Person, project: Project, day: date) -> Project:
    """Return the project, locked until the transaction ends, so that its day lists stand still.

    Raises PermissionDenied for anybody but a manager of its contractor, Refused for a day that
    is over where the project is.
    """
    if not projects_kept_by(actor).filter(pk=project.pk).exists():
        raise PermissionDenied(_("Only a manager of the contractor keeps the day lists."))
    row = Project.objects.select_for_update(no_key=True).get(pk=project.pk)
    if day < today_at(row):
        raise Refused(
            _(
                "{day} is over in {time_zone}: its list stays as it was. Choose today or a later "
                "day."
            ).format(day=weekday(day), time_zone=row.time_zone),
            field="day",
        )
    return row


def room(post: Post, day: date, *, leads: bool) -> int:
    """Return how many more can be placed at ``post`` on ``day`` (one query)."""
    taken = DayPlace.objects.filter(post=post, day=day, leads=leads).count()
    return max(0, (post.leads if leads else post.places) - taken)


def saved(
    actor: Person,
    project: Project,
    post: Post,
    day: date,
    people: Collection[Person],
    *,
    leads: bool,
    unqualified: dict[int, tuple[str, ...]],
) -> list[DayPlace]:
    """Write the places and their row in the log; Refused for who was placed meanwhile.

    ``unqualified`` has the reasons of those who are not qualified, by key.
    """
    rows = [
        DayPlace(project=project, post=post, day=day, person=each, leads=leads, placed_by=actor)
        for each in people
    ]
    try:
        with transaction.atomic():
            places = DayPlace.objects.bulk_create(rows)
    except IntegrityError:
        # Another project's list does not wait for the lock of this one.
        raise Refused(_(PLACED_MEANWHILE), field="people") from None
    said = {
        "people": [each.pk for each in people],
        "not_qualified": [each.pk for each in people if unqualified.get(each.pk)],
    }
    data = {**_said(post, day, leads=leads), **said}
    write_log(actor=actor, verb="day.placed", subject=project, data=data)
    return places


def _worked(project: Project, post: Post, day: date) -> Post:
    """Return the post, locked, so that its days and places stay what they are meanwhile."""
    row = (
        Post.objects.select_for_update(no_key=True, of=("self",))
        .select_related("project", "program", "lead_program")
        .filter(pk=post.pk, project=project)
        .first()
    )
    if row is None:
        raise Refused(_("This post was taken off the project. Open the day list again."))
    if not row.starts_on <= day <= row.ends_on:
        raise Refused(
            _(
                "Post {code} is worked from {first} to {last}: choose a day in between, or "
                "change the post."
            ).format(code=row.code, first=short_day(row.starts_on), last=short_day(row.ends_on)),
            field="day",
        )
    return row


def _require_crew(project: Project, day: date, people: Collection[Person]) -> None:
    keys = [each.pk for each in people]
    crew = set(crew_on(project, day).filter(pk__in=keys).values_list("pk", flat=True))
    strangers = [str(each) for each in people if each.pk not in crew]
    if strangers:
        raise Refused(
            _("Not on the crew on this day: {strangers}. Take them out.").format(
                strangers=", ".join(strangers)
            ),
            field="people",
        )


def _require_room(post: Post, day: date, wanted: int, *, leads: bool) -> None:
    free = room(post, day, leads=leads)
    if wanted <= free:
        return
    number = post.leads if leads else post.places
    if leads:
        told = ngettext(
            "Post {code} has {number} place for leads, {free} of them free on this day: you chose "
            "{wanted}.",
            "Post {code} has {number} places for leads, {free} of them free on this day: you "
            "chose {wanted}.",
            number,
        )
    else:
        told = ngettext(
            "Post {code} has {number} place, {free} of them free on this day: you chose {wanted}.",
            "Post {code} has {number} places, {free} of them free on this day: you chose {wanted}.",
            number,
        )
    advice = (
        _("Choose {free} at most, or change the post.")
        if free
        else _("Choose nobody, or change the post.")
    )
    told = told.format(code=post.code, number=number, free=free, wanted=wanted)
    raise Refused(f"{told} {advice.format(free=free)}", field="people")


def _said(post: Post, day: date, *, leads: bool) -> dict[str, object]:
    return {"day": day.isoformat(), "post": post.code, "leads": leads}
