"""What follows the scenario's results: reading them, practice, a day for a retake, a review."""

from collections.abc import Mapping
from datetime import timedelta
from typing import Any

from django.utils import timezone

from assessments.actions.acknowledge import acknowledge
from assessments.actions.practice_pieces import record_piece, score_piece
from assessments.actions.practice_plans import ItemFacts, agree_plan, propose_plan
from assessments.actions.retakes import arrange_retake
from assessments.actions.reviews.asking import ask_review
from assessments.actions.reviews.giving import give_review
from assessments.models import Attempt
from assessments.queries.attempts import current_decision
from assessments.queries.calibration.authority import site_day
from certificates.demo.scoring import value_of
from training.actions.reading import choose_reading
from training.models import Person


def tell_second_look(told: Mapping[str, Any], people: Mapping[str, Person]) -> None:
    """Tell what ``second_look`` of the scenario says, each part through its action."""
    for key, chosen in told["reading"].items():
        choose_reading(person=people[key], **chosen)
    for key in told["acknowledged"]:
        decision = current_decision(_attempt(people[key]))
        assert decision is not None
        acknowledge(actor=people[key], decision=decision)
    for entry in told["practice"]:
        _practise(entry, people)
    for entry in told["reviews"]:
        review = ask_review(
            actor=people[entry["trainee"]],
            attempt=_attempt(people[entry["trainee"]]),
            reason=entry["reason"],
        )
        give_review(actor=people["lead"], review=review, reviewer=people[entry["reviewer"]])


def _practise(entry: Mapping[str, Any], people: Mapping[str, Person]) -> None:
    trainee, instructor = people[entry["trainee"]], people[entry["instructor"]]
    attempt = _attempt(trainee)
    today = site_day(attempt)
    modules = {module.key: module for module in attempt.standard.program.modules.all()}
    plan = propose_plan(
        actor=instructor,
        attempt=attempt,
        items=[
            ItemFacts(
                text=item["text"],
                by_day=today + timedelta(days=item["in_days"]),
                criterion=item["criterion"],
                module=modules[item["module"]],
            )
            for item in entry["plan"]
        ],
    )
    agree_plan(actor=trainee, plan=plan)
    piece = record_piece(
        actor=instructor,
        enrolment=attempt.enrolment,
        title=entry["piece"]["title"],
        made_on=today,
    )
    criteria = {each["key"]: each for each in attempt.standard.document["criteria"]}
    for key, seen in entry["piece"]["seen"].items():
        score_piece(
            actor=instructor, piece=piece, criterion=key, value=value_of(criteria[key], seen)
        )
    arrange_retake(
        actor=instructor,
        attempt=attempt,
        day=timezone.localdate() + timedelta(days=entry["retake"]["in_days"]),
        place=entry["retake"]["place"],
    )


def _attempt(person: Person) -> Attempt:
    return Attempt.objects.select_related(
        "standard__program", "enrolment__run__site", "enrolment__run__program"
    ).get(enrolment__person=person)
