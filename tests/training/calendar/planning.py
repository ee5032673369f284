"""What these tests plan: sessions in a run from 2 to 6 November 2026, at a site in New York."""

from collections.abc import Callable, Sequence
from datetime import datetime
from threading import Barrier, Thread
from typing import Any
from zoneinfo import ZoneInfo

from django.db import connection
from django.test import Client

from tests.training.yard import Yard
from training.actions.sessions import Plan, add_session
from training.errors import Refused
from training.models import Module, Person, Place, Session

NEW_YORK = ZoneInfo("America/New_York")


def at(day: int, hour: int, minute: int = 0) -> datetime:
    """Return an hour of November 2026 by the clocks of the site."""
    return datetime(2026, 11, day, hour, minute, tzinfo=NEW_YORK)


def plan(day: int = 3, first: int = 8, last: int = 10, **fields: Any) -> Plan:
    """Return the plan of a session between two hours of a day."""
    values = {"title": "Pins", "starts_at": at(day, first), "ends_at": at(day, last)}
    return Plan(**{**values, **fields})


def planned(yard: Yard, *args: int, **fields: Any) -> Session:
    """Return a session added by the lead."""
    return add_session(actor=yard.lead, run=yard.run, plan=plan(*args, **fields))


def bay(yard: Yard, name: str = "Bay 3", **fields: Any) -> Place:
    """Return a saved bay of the run's site."""
    return Place.objects.create(site=yard.run.site, kind="bay", name=name, **fields)


def module(yard: Yard, position: int = 1, minutes: int = 60) -> Module:
    """Return a saved module of the run's program."""
    return Module.objects.create(
        program=yard.program,
        position=position,
        key=f"M{position}",
        title=f"Part {position}",
        kind="lecture",
        minutes=minutes,
    )


def signed_in(person: Person) -> Client:
    """Return a client in which ``person`` is signed in."""
    client = Client()
    client.force_login(person)
    return client


def at_once(actions: Sequence[Callable[[], object]]) -> list[object]:
    """Return what each action gives when all begin together: its result, or what it raised."""
    found: list[object] = [None] * len(actions)
    start = Barrier(len(actions))

    def run(number: int) -> None:
        start.wait()
        try:
            found[number] = actions[number]()
        except Exception as error:
            found[number] = error
        finally:
            connection.close()

    threads = [Thread(target=run, args=(number,)) for number in range(len(actions))]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    return found


def refusals(found: Sequence[object]) -> list[Refused]:
    """Return the refusals among ``found``; anything else that was raised is raised again."""
    for each in found:
        if isinstance(each, Exception) and not isinstance(each, Refused):
            raise each
    return [each for each in found if isinstance(each, Refused)]
