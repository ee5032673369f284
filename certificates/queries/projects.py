"""What pages about projects show, each in a number of queries that does not grow with rows."""

import uuid
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from typing import Any
from zoneinfo import ZoneInfo

from django.db.models import Count, DateField, Exists, F, Func, Max, Min, OuterRef, Q, QuerySet, Sum
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop as N_

from assessments.engine.errors import EngineError
from assessments.engine.qualification import Rules, load_need, need_rows
from assessments.models import SealedStandard
from certificates.actions.projects.values import condition_text
from certificates.models import DayPlace, Post, Project
from certificates.queries.crew_scope import projects_visible_to
from certificates.queries.ranges import rules_of
from training.models import Person, Program
from training.said import said

COMING, RUNNING, OVER = "coming", "running", "over"
PHASES = ((RUNNING, N_("Running")), (COMING, N_("To come")), (OVER, N_("Over")))


def today_at(project: Project) -> date:
    """Return the day that it is at the project."""
    return timezone.localdate(timezone=ZoneInfo(project.time_zone))


def phase_of(project: Project) -> str:
    """Return how the project lies to the day that it is there: coming, running or over."""
    today = today_at(project)
    if today < project.starts_on:
        return COMING
    return OVER if today > project.ends_on else RUNNING


def project_rows(person: Person, *, phase: str = "", text: str = "") -> QuerySet[Project]:
    """Return the projects visible to ``person`` with the numbers of posts and places.

    ``phase`` is told by each project's own time zone.
    """
    rows = (
        projects_visible_to(person)
        .select_related("contractor", "owner")
        .annotate(post_count=Count("posts"), place_count=Sum("posts__places"))
        .order_by("-starts_on", "name", "pk")
    )
    if text:
        rows = rows.filter(
            Q(name__icontains=text)
            | Q(place__icontains=text)
            | Q(contractor__name__icontains=text)
            | Q(owner__name__icontains=text)
        )
    if phase:
        rows = rows.annotate(today=_today())
        rows = rows.filter(
            **{
                COMING: {"starts_on__gt": F("today")},
                OVER: {"ends_on__lt": F("today")},
                RUNNING: {"starts_on__lte": F("today"), "ends_on__gte": F("today")},
            }[phase]
        )
    return rows


def _today() -> Func:
    return Func(
        F("time_zone"),
        template="(timezone(%(expressions)s, now()))::date",
        output_field=DateField(),
    )


def sealed_programs() -> QuerySet[Program]:
    """Return the programs, in every version, of which a passing standard is sealed."""
    sealed = SealedStandard.objects.filter(program=OuterRef("pk"))
    return (
        Program.objects.filter(Exists(sealed))
        .select_related("provider")
        .order_by("code", "provider__name", "provider_id", "-version")
    )


def post_programs(*also: uuid.UUID | None) -> QuerySet[Program]:
    """Return the latest sealed version of each program, and those of the ids in ``also``."""
    latest = (
        Program.objects.filter(Exists(SealedStandard.objects.filter(program=OuterRef("pk"))))
        .order_by("provider_id", "code", "-version")
        .distinct("provider_id", "code")
    )
    wanted = [pk for pk in also if pk is not None]
    return (
        Program.objects.filter(Q(pk__in=latest.values("pk")) | Q(pk__in=wanted))
        .select_related("provider")
        .order_by("code", "provider__name", "-version")
    )


def rules_by_program(programs: Iterable[uuid.UUID]) -> dict[uuid.UUID, Rules | None]:
    """Return the rules of the newest sealed standard of each program (two queries).

    A program without a sealed standard is left out; None stands for a standard without rules.
    """
    newest = dict(
        SealedStandard.objects.filter(program__in=set(programs))
        .order_by("program_id", "-serial")
        .distinct("program_id")
        .values_list("program_id", "pk")
    )
    rules = rules_of(newest.values()) if newest else {}
    return {program: rules.get(standard) for program, standard in newest.items()}


def days_placed(project: Project) -> dict[uuid.UUID, tuple[date, date]]:
    """Return, by post, the first and last day on which the day list has somebody there."""
    rows = (
        DayPlace.objects.filter(project=project)
        .order_by()
        .values("post")
        .annotate(first=Min("day"), last=Max("day"))
    )
    return {row["post"]: (row["first"], row["last"]) for row in rows}


@dataclass(frozen=True)
class Asked:
    """One variable of a program's rules, and what a post asks of it; "" when nothing."""

    title: str
    asks: str


@dataclass(frozen=True)
class PostRow:
    """A post with what it asks for in words, and the variables that it does not ask about.

    ``has_rules`` is False when the sealed standard says nothing about conditions.
    """

    post: Post
    asked: tuple[Asked, ...]
    not_asked: tuple[str, ...]
    has_rules: bool


def post_rows(project: Project) -> list[PostRow]:
    """Return the posts of ``project`` in their order (three queries)."""
    posts = list(
        project.posts.select_related("program__provider", "lead_program__provider").order_by(
            "position"
        )
    )
    rules = rules_by_program(post.program_id for post in posts)
    return [row_of(post, rules.get(post.program_id)) for post in posts]


def row_of(post: Post, rules: Rules | None) -> PostRow:
    """Return what ``post`` asks for, in words by ``rules``."""
    variables = rules.variables if rules else ()
    titles = {each.key: each.title for each in variables}
    # In the order of the rules; what they do not know (any more) comes last.
    order = [key for key in titles if key in post.conditions]
    order += [key for key in post.conditions if key not in titles]
    return PostRow(
        post,
        tuple(_asked(key, post.conditions[key], rules, titles) for key in order),
        tuple(title for key, title in titles.items() if key not in post.conditions),
        rules is not None,
    )


def _asked(key: str, value: Any, rules: Rules | None, titles: dict[str, str]) -> Asked:
    if rules is not None:
        try:
            (row,) = need_rows(load_need(rules, {key: value}))
            return Asked(row["title"], said(row["asks"]))
        except EngineError:
            pass  # a standard sealed since then may know other variables or values
    return Asked(
        titles.get(key, key),
        _("{asked}. The newest passing standard does not know this: edit the post.").format(
            asked=condition_text(value)
        ),
    )
