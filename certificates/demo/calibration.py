"""The assessors of the scenario score a reference piece and are authorised to sign off."""

from collections.abc import Callable, Mapping, Sequence
from typing import Any

from assessments.actions.calibration.authority import authorise, set_requirement
from assessments.actions.calibration.pieces import add_reference_piece
from assessments.actions.calibration.sittings import (
    finish_sitting,
    score_reference,
    start_sitting,
)
from assessments.models import SealedStandard
from certificates.demo.scoring import value_of
from training.models import Person


def calibrate(
    *,
    lead: Person,
    standard: SealedStandard,
    told: Mapping[str, Any],
    typical: Mapping[str, Any],
    assessors: Sequence[tuple[Person, Mapping[str, Any]]],
    say: Callable[[str], None],
) -> None:
    """Set what is asked, let each assessor score the piece of ``told``, and authorise them.

    ``assessors`` pairs each with where their scores differ from what was agreed.
    """
    asked = told["asked"]
    set_requirement(
        actor=lead,
        program=standard.program,
        pieces=asked["pieces"],
        months=asked["months"],
        exact=str(asked["exact"]),
        bias=str(asked["bias"]),
    )
    criteria = {each["key"]: each for each in standard.document["criteria"]}
    agreed = {
        key: value_of(criteria[key], {**typical, **told["agreed"]}[key]) for key in told["scored"]
    }
    piece = add_reference_piece(
        actor=lead,
        standard=standard,
        title=told["title"],
        description=told["description"],
        agreed=agreed,
        agreed_by=told["agreed_by"],
    )
    for assessor, differs in assessors:
        say(f"reference piece scored by {assessor}")
        sitting = start_sitting(actor=assessor, piece=piece)
        for key, value in agreed.items():
            seen = value_of(criteria[key], differs[key]) if key in differs else value
            score_reference(actor=assessor, sitting=sitting, criterion=key, value=seen)
        finish_sitting(actor=assessor, sitting=sitting)
        authorise(actor=lead, program=standard.program, assessor=assessor)
