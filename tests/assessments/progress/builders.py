"""A yard whose trainee did not meet the standard yet, with modules, plans and pieces; invented."""

from datetime import date, timedelta
from typing import Any

from django.test import Client
from django.utils import timezone

from assessments.actions.decisions import sign_off
from assessments.actions.practice_pieces import record_piece, score_piece
from assessments.actions.practice_plans import ItemFacts, propose_plan
from assessments.models import Attempt, PracticePiece, PracticePlan
from tests.assessments.builders import Yard, make_yard, score_all
from tests.training.sitelog.builders import during
from training.models import Enrolment, Module, Outcome, Person
from training.site_time import zone_of

NOT_MET: dict[str, dict[str, object] | None] = {"C3": {"answer": False}}


def practice_yard(**changes: object) -> Yard:
    """Return a yard whose run is on today, with a lecture and a practice that teach O1."""
    yard = make_yard(**changes)
    during(yard.run)
    outcome = Outcome.objects.create(
        program=yard.program, position=0, key="O1", statement="Sets a dutchman", minimum="0.5"
    )
    for position, kind in enumerate((Module.Kind.LECTURE, Module.Kind.PRACTICE)):
        module = Module.objects.create(
            program=yard.program,
            position=position,
            key=f"M{position + 1}",
            title=f"Bedding, {kind}",
            kind=kind,
            minutes=60,
        )
        module.outcomes.add(outcome)
    return yard


def decided(
    yard: Yard, enrolment: Enrolment | None = None, **changes: dict[str, object] | None
) -> Attempt:
    """Return a signed attempt; without ``changes`` the critical C3 is not met."""
    from assessments.actions.attempts import start_attempt

    attempt = start_attempt(actor=yard.instructor, enrolment=enrolment or yard.enrolment)
    score_all(attempt, yard.instructor, **(changes or NOT_MET))
    sign_off(actor=yard.instructor, attempt=attempt, password_checked=True)
    return Attempt.objects.select_related("enrolment__run__site", "standard").get(pk=attempt.pk)


def today(yard: Yard) -> date:
    """Return the day that it is at the site."""
    return timezone.localdate(timezone=zone_of(yard.run.site))


def proposed(yard: Yard, attempt: Attempt, actor: Person, **changes: Any) -> PracticePlan:
    """Return a plan of one thing, due in a week."""
    facts = {"text": "Wedge three joints dry.", "by_day": today(yard) + timedelta(days=7)}
    item = ItemFacts(**{**facts, **changes.pop("item", {})})
    return propose_plan(actor=actor, attempt=attempt, **{"items": [item], **changes})


def piece(
    yard: Yard, day: date | None = None, enrolment: Enrolment | None = None, **values: Any
) -> PracticePiece:
    """Return a practice piece with a score for each criterion that is named."""
    made = record_piece(
        actor=yard.instructor,
        enrolment=enrolment or yard.enrolment,
        title="Sill, first try",
        made_on=day or today(yard),
    )
    for key, value in values.items():
        score_piece(actor=yard.instructor, piece=made, criterion=key, value=value)
    return made


def browser(person: Person) -> Client:
    """Return a client that ``person`` is signed in with."""
    client = Client()
    client.force_login(person, backend="django.contrib.auth.backends.ModelBackend")
    return client
