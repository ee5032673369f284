"""What the database refuses of calibration, whatever the code above it does."""

from typing import Any

import pytest
from django.db import IntegrityError, connection, transaction
from django.utils import timezone

from assessments.actions.calibration import retire_reference_piece, score_reference, start_sitting
from assessments.models import (
    Authorisation,
    CalibrationScore,
    CalibrationSitting,
    ReferencePiece,
)
from tests.assessments.builders import make_yard
from tests.assessments.calibration.builders import AGREED, ask, authorised, make_piece, sit
from tests.assessments.test_guards import refused

pytestmark = pytest.mark.django_db


def give(sitting: CalibrationSitting, criterion: str = "C1", **fields: Any) -> CalibrationScore:
    return CalibrationScore.objects.create(
        sitting=sitting, criterion=criterion, value={"level": 1}, **fields
    )


def run(statement: str, *values: Any) -> None:
    with connection.cursor() as cursor:
        cursor.execute(statement, values)


def test_scores_belong_to_an_open_sitting_and_its_piece() -> None:
    yard = make_yard()
    piece = make_piece(yard, C2=None)
    done = sit(yard.instructor, piece)
    assert refused(lambda: give(done, "C3")) == "calibration_sitting_open"
    sitting = start_sitting(actor=yard.lead, piece=piece)
    assert refused(lambda: give(sitting, "C2")) == "calibration_criterion_of_piece"


def test_a_correction_stays_with_its_criterion_and_sitting() -> None:
    yard = make_yard()
    piece = make_piece(yard)
    sitting = start_sitting(actor=yard.instructor, piece=piece)
    other = start_sitting(actor=yard.lead, piece=piece)
    first, elsewhere = give(sitting), give(other)
    for earlier, criterion in ((first, "C3"), (elsewhere, "C1")):
        name = refused(lambda e=earlier, c=criterion: give(sitting, c, replaces=e))  # type: ignore[misc]
        assert name == "calibration_replaces_same"
    assert refused(lambda: give(sitting)) == "calibration_score_first_once"
    assert give(sitting, replaces=first).replaces == first


@pytest.mark.parametrize("table", ["calibrationscore", "assessorrequirement", "authorisation"])
def test_facts_only_grow(table: str) -> None:
    yard = make_yard()
    ask(yard)
    authorised(yard, yard.instructor, timezone.localdate())
    sit(yard.instructor, make_piece(yard))
    for statement in (
        f"UPDATE assessments_{table} SET id = id",
        f"DELETE FROM assessments_{table}",
    ):
        with pytest.raises(IntegrityError, match="append-only"), transaction.atomic():
            run(statement)


def test_agreed_scores_are_fixed_once_a_sitting_began() -> None:
    yard = make_yard()
    piece = make_piece(yard)
    rows = ReferencePiece.objects.filter(pk=piece.pk)
    assert rows.update(agreed={**AGREED, "C1": {"level": 2}}) == 1
    start_sitting(actor=yard.instructor, piece=piece)
    assert refused(lambda: rows.update(agreed=AGREED)) == "reference_fixed_once_scored"
    assert refused(lambda: rows.update(agreed_by="Us")) == "reference_fixed_once_scored"
    assert rows.update(title="Sill stone, north") == 1


@pytest.mark.parametrize("agreed", [{}, []])
def test_a_piece_has_an_agreed_score(agreed: Any) -> None:
    piece = make_piece(make_yard())
    rows = ReferencePiece.objects.filter(pk=piece.pk)
    assert refused(lambda: rows.update(agreed=agreed)) == "reference_agreed_given"


def test_a_sitting_is_begun_on_a_piece_in_use_and_ends_whole() -> None:
    yard = make_yard()
    piece = make_piece(yard)
    sitting = start_sitting(actor=yard.instructor, piece=piece)
    rows = CalibrationSitting.objects.filter(pk=sitting.pk)
    for key in ("C1", "C2", "C3", "C4"):
        score_reference(actor=yard.instructor, sitting=sitting, criterion=key, value=AGREED[key])

    def finish() -> object:
        return rows.update(state="finished", finished_at=timezone.now())

    assert refused(finish) == "sitting_scored_whole"
    score_reference(actor=yard.instructor, sitting=sitting, criterion="C5", value=AGREED["C5"])
    assert refused(lambda: rows.update(assessor=yard.lead)) == "sitting_finished_stays"
    assert finish() == 1
    back = {"state": "open", "finished_at": None}
    assert refused(lambda: rows.update(**back)) == "sitting_finished_stays"
    delete = "DELETE FROM assessments_calibrationsitting WHERE id = %s"
    assert refused(lambda: run(delete, sitting.pk)) == "sitting_stays"
    retire_reference_piece(actor=yard.lead, piece=piece)
    make = CalibrationSitting.objects.create
    assert refused(lambda: make(piece=piece, assessor=yard.lead)) == "sitting_piece_in_use"


def test_authority_is_whole_and_given_by_another() -> None:
    yard = make_yard()

    def row(**fields: Any) -> Authorisation:
        values = {"program": yard.program, "assessor": yard.instructor, "by": yard.lead, **fields}
        return Authorisation.objects.create(**values)

    today = timezone.localdate()
    assert refused(lambda: row(granted=True)) == "authorisation_whole"
    assert refused(lambda: row(granted=False)) == "authorisation_whole"
    own = {"granted": True, "until": today, "by": yard.instructor}
    assert refused(lambda: row(**own)) == "authorisation_by_another"
    assert row(granted=True, until=today).granted
