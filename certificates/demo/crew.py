"""A project of the scenario: its posts, who is on the scaffold today, and what was submitted."""

from collections.abc import Callable, Iterable, Mapping
from datetime import date, timedelta
from typing import Any

from django.utils import timezone

from certificates.actions.continuity import confirm_work
from certificates.actions.days import place_people
from certificates.actions.projects.posts import add_post
from certificates.actions.projects.projects import create_project
from certificates.actions.projects.values import PostValues
from certificates.actions.submittals import submit
from certificates.models import Project, Record
from certificates.queries.submittals import statement_now
from training.models import Organisation, Person, Program


def tell_project(told: Mapping[str, Any], scenario: Mapping[str, Any]) -> Project:
    """Make the project with its posts; the people in it are known by now."""
    manager = _person(scenario, told["manager"])
    today = timezone.localdate()
    project = create_project(
        actor=manager,
        contractor=_organisation(scenario, told["contractor"]),
        owner=_organisation(scenario, told["owner"]),
        name=told["name"],
        place=told["place"],
        time_zone=told["time_zone"],
        starts_on=today + timedelta(days=told["starts_in_days"]),
        ends_on=today + timedelta(days=told["ends_in_days"]),
    )
    for entry in told["posts"]:
        add_post(actor=manager, project=project, values=_post(entry, today))
    return project


def finish_projects(scenario: Mapping[str, Any], say: Callable[[str], None]) -> None:
    """Confirm, place and submit what the scenario tells of its projects, once records are there.

    A project that was submitted already is left as it is.
    """
    for told in scenario["projects"]:
        project = Project.objects.filter(name=told["name"], submittals__isnull=True).first()
        if project is None:
            continue
        say(f"{project}: confirmations, today's list and the submittal")
        manager = _person(scenario, told["manager"])
        for key in told["confirmed"]:
            for record in _unconfirmed(scenario, key):
                confirm_work(
                    actor=manager, record=record, worked_on=timezone.localdate(), project=project
                )
        _place(told["today"], scenario, project, manager)
        statement = statement_now(project, now=timezone.now())
        words = {gap.key: told["gaps_met_by"] for gap in statement.gaps}
        submit(actor=manager, project=project, seen=statement.seen, met_by=words)


def _place(
    today: Mapping[str, list[str]], scenario: Mapping[str, Any], project: Project, manager: Person
) -> None:
    for code, people in today.items():
        if project.day_places.filter(post__code=code).exists():
            continue
        place_people(
            actor=manager,
            project=project,
            post=project.posts.get(code=code),
            day=timezone.localdate(),
            people=[_person(scenario, key) for key in people],
        )


def _unconfirmed(scenario: Mapping[str, Any], key: str) -> Iterable[Record]:
    return Record.objects.filter(
        holder=_person(scenario, key),
        replaced_by__isnull=True,
        decision__attempt__confirmations__isnull=True,
    )


def _post(entry: Mapping[str, Any], today: date) -> PostValues:
    return PostValues(
        code=entry["code"],
        title=entry["title"],
        work=entry["work"],
        program=Program.objects.filter(code=entry["program"]).latest("version"),
        conditions=entry["conditions"],
        places=entry["places"],
        starts_on=today + timedelta(days=entry["from_day"]),
        ends_on=today + timedelta(days=entry["to_day"]),
    )


def _organisation(scenario: Mapping[str, Any], key: str) -> Organisation:
    return Organisation.objects.get(name=scenario["organisations"][key]["name"])


def _person(scenario: Mapping[str, Any], key: str) -> Person:
    trainees = {
        name: trainee
        for run in scenario["runs"].values()
        for name, trainee in run["trainees"].items()
    }
    return Person.objects.get(email={**trainees, **scenario["people"]}[key]["email"])
