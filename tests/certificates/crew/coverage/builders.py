"""Makers of projects and posts for the tests of coverage; all invented."""

import itertools
from datetime import date, datetime, timedelta, tzinfo
from typing import Any

import pytest
from django.utils.timezone import get_current_timezone

from certificates.models import Post, Project
from tests.certificates.crew.builders import firm
from training.models import Organisation, Person, Program, Role

_counter = itertools.count(1)
ZONE = "America/New_York"


def project_for(
    contractor: Organisation | None = None,
    *,
    starts_on: date,
    days: int = 30,
    zone: str = ZONE,
    **fields: Any,
) -> Project:
    """Return a project that lasts so many days; without a contractor, of a new one."""
    contractor = contractor or firm()[0]
    return Project.objects.create(
        **{
            "contractor": contractor,
            "name": f"Tower {next(_counter)}",
            "time_zone": zone,
            "starts_on": starts_on,
            "ends_on": starts_on + timedelta(days=days - 1),
            "created_by": manager_of(contractor),
            **fields,
        }
    )


def post_on(
    project: Project,
    program: Program,
    code: str = "A",
    *,
    places: int = 1,
    conditions: dict[str, Any] | None = None,
    lead: Program | None = None,
    masons_per_lead: int = 4,
    **fields: Any,
) -> Post:
    """Return a post that lasts as long as the project."""
    return Post.objects.create(
        **{
            "project": project,
            "position": project.posts.count() + 1,
            "code": code,
            "title": f"Work {code}",
            "program": program,
            "conditions": conditions or {},
            "places": places,
            "starts_on": project.starts_on,
            "ends_on": project.ends_on,
            "lead_program": lead,
            "masons_per_lead": masons_per_lead if lead else None,
            **fields,
        }
    )


def manager_of(contractor: Organisation) -> Person:
    """Return who manages the crew of a contractor."""
    return contractor.roles.filter(kind=Role.Kind.CONTRACTOR).select_related("person")[0].person


def set_clock(monkeypatch: pytest.MonkeyPatch, moment: datetime) -> None:
    """Let today be the day of ``moment``, in every zone; rows are still made now."""

    def localdate(value: datetime | None = None, timezone: tzinfo | None = None) -> date:
        return (value or moment).astimezone(timezone or get_current_timezone()).date()

    monkeypatch.setattr("django.utils.timezone.localdate", localdate)
