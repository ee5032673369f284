"""What a project has submitted, what it would submit now, and the links to it."""

from __future__ import annotations

import hashlib
from collections.abc import Iterable
from datetime import datetime, timedelta
from uuid import UUID
from zoneinfo import ZoneInfo

from django.conf import settings
from django.db.models import Count, DateTimeField, ExpressionWrapper, F, Max, QuerySet
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop as N_

from assessments.engine import EngineError
from assessments.engine.qualification import load_need, need_rows, range_of
from assessments.models import SealedStandard
from certificates.models import Post, Project, ShareLink, Submittal
from certificates.queries.project_coverage import ProjectCoverage, coverage_of
from certificates.queries.ranges import rules_of
from certificates.submittal.document import Grounds, Statement, statement_of
from training.digests import secret_digest
from training.models import Organisation

NO_POSTS = N_("This project has no posts yet, so there is nothing to cover. Add the posts first.")
ENDED = N_("This project has ended, so there is nothing to submit. Change its dates if it goes on.")

# A moment of the last day on which a link is in force: it ends with the midnight after it.
LAST = ExpressionWrapper(F("expires_at") - timedelta(seconds=1), DateTimeField())


def statement_now(project: Project, *, now: datetime | None = None) -> Statement:
    """Return what the project would submit today (a constant number of queries)."""
    day = (now or timezone.now()).astimezone(ZoneInfo(project.time_zone)).date()
    found = coverage_of(project)
    return statement_of(project, grounds_of(found), day=day)


def cannot_submit(project: Project, *, now: datetime | None = None) -> str:
    """Return why there is nothing to submit, as a sentence; empty when there is."""
    day = (now or timezone.now()).astimezone(ZoneInfo(project.time_zone)).date()
    if project.ends_on < day:
        return _(ENDED)
    return "" if project.posts.exists() else _(NO_POSTS)


def grounds_of(found: ProjectCoverage) -> Grounds:
    """Return what a statement is made from: the coverage, and the words for it."""
    used = {
        (place, int(person))
        for span in found.coverage.spans
        for place, people in span.assigned.items()
        for person in people
    }
    keys = used | {(place.removesuffix("/lead"), person) for place, person in used}
    held = {key: found.held[key] for key in keys if key in found.held}
    rules = rules_of({one.standard_id for one in held.values()})
    names = Organisation.objects.filter(pk__in={one.provider_id for one in held.values()})
    return Grounds(
        posts=found.posts,
        coverage=found.coverage,
        people=found.people,
        held=held,
        needs=needs_of(found.posts),
        ranges={pk: range_of(each).rows() for pk, each in rules.items() if each is not None},
        providers=dict(names.values_list("pk", "name")),
        addresses={
            one.number: f"{settings.BASE_URL}{reverse('check_record', args=[one.number])}"
            for one in held.values()
        },
    )


def needs_of(posts: Iterable[Post]) -> dict[UUID, list[dict[str, str]]]:
    """Return what each post asks for, in words, by the key of the post (two queries at most).

    They are the words of the latest standard that its program was sealed with.
    """
    asking = [post for post in posts if post.conditions]
    latest = dict(
        SealedStandard.objects.filter(program__in={post.program_id for post in asking})
        .order_by("program", "serial")
        .values_list("program", "pk")
    )
    rules = rules_of(latest.values()) if latest else {}
    found = {}
    for post in asking:
        known = rules.get(latest[post.program_id]) if post.program_id in latest else None
        try:
            rows = need_rows(load_need(known, post.conditions)) if known else _plain(post)
        except EngineError:
            # Sealed anew since, without that variable: what was asked is told as it was written.
            rows = _plain(post)
        found[post.pk] = rows
    return found


def _plain(post: Post) -> list[dict[str, str]]:
    return [
        {"key": key, "title": key, "asks": _written(value)}
        for key, value in sorted(post.conditions.items())
    ]


def _written(value: object) -> str:
    if isinstance(value, dict):
        return " ".join(f"{key} {each}" for key, each in value.items() if each is not None)
    return ", ".join(map(str, value)) if isinstance(value, list) else str(value)


def submittals_of(project: Project) -> QuerySet[Submittal]:
    """Return the submittals of a project, the latest first, without their documents."""
    return (
        project.submittals.select_related("submitted_by")
        .annotate(named=Count("records"))
        .defer("document")
        .order_by("-number")
    )


def links_of(project: Project) -> QuerySet[ShareLink]:
    """Return the links of a project, the latest first, with how often each was opened."""
    return (
        project.links.select_related("created_by", "revoked_by", "project")
        .annotate(opened=Count("openings"), last_opened=Max("openings__at"), last=LAST)
        .order_by("-created_at", "pk")
    )


def submittal_in(pdf: bytes) -> Submittal | None:
    """Return the submittal that this file is, to the last byte; None when it is none of them."""
    return (
        Submittal.objects.select_related("project__contractor", "submitted_by")
        .filter(pdf_sha256=hashlib.sha256(pdf).hexdigest())
        .first()
    )


def live_link(token: str, *, now: datetime | None = None) -> ShareLink | None:
    """Return the link with this secret if it is in force at ``now``; None alike for any other."""
    return (
        ShareLink.objects.select_related("project__contractor", "project__owner", "created_by")
        .filter(token_sha256=secret_digest(token), revoked_at__isnull=True)
        .filter(expires_at__gt=now or timezone.now())
        .annotate(last=LAST)
        .first()
    )
