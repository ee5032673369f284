"""Reference pieces: who adds them, what they may hold, when they are fixed."""

from typing import Any

import pytest
from django.core.exceptions import PermissionDenied

from assessments.actions.calibration import (
    change_reference_piece,
    retire_reference_piece,
    start_sitting,
)
from assessments.engine.canonical import digest
from assessments.models import ReferencePiece
from tests.assessments.builders import Yard, make_yard, readings
from tests.assessments.calibration.builders import AGREED, make_piece
from training.errors import Refused
from training.models import LogEntry, Person

pytestmark = pytest.mark.django_db


def change(piece: ReferencePiece, actor: Person, **changes: Any) -> ReferencePiece:
    same = {name: getattr(piece, name) for name in ("title", "description", "agreed", "agreed_by")}
    return change_reference_piece(actor=actor, piece=piece, **{**same, **changes})


def test_a_lead_adds_a_piece() -> None:
    yard = make_yard()
    piece = make_piece(yard)
    assert (piece.agreed, piece.made_by, piece.retired_at) == (AGREED, yard.lead, None)
    entry = LogEntry.objects.get(verb="reference.added")
    assert entry.data["agreed_digest"] == digest(AGREED)


@pytest.mark.parametrize("who", ["instructor", "trainee", "other lead"])
def test_nobody_else_writes_pieces(who: str) -> None:
    yard = make_yard()
    piece = make_piece(yard)
    other = {"instructor": yard.instructor, "trainee": yard.trainee}.get(who, make_yard().lead)
    with pytest.raises(PermissionDenied):
        change(piece, other, title="Mine")
    with pytest.raises(PermissionDenied):
        retire_reference_piece(actor=other, piece=piece)
    piece.refresh_from_db()
    assert (piece.title, piece.retired_at) == ("Sill stone A", None)


@pytest.mark.parametrize(
    ("key", "value", "said"),
    [
        ("C1", {"level": 3}, "Criterion C1: level: Write the level"),
        ("C2", readings(("wide", "1 1/2", "in"), ("1/8", "1/8", "in")), "Criterion C2: readings"),
        ("C2", readings(("1/8", "1/8", "in")), "Criterion C2: enter the whole score"),
        ("C3", {"answer": "yes"}, "Criterion C3: answer"),
        ("C3", {"not_applicable": True, "reason": "No."}, "Criterion C3: not_applicable"),
        ("C5", {"start": "2026-11-03T09:00:00-05:00"}, "Criterion C5: enter the whole score"),
        ("C1", {"cleared": True}, "Criterion C1: enter the whole score"),
        ("C9", {"level": 1}, "The standard has no criterion C9."),
    ],
)
def test_a_wrong_score_is_told_at_its_criterion(key: str, value: Any, said: str) -> None:
    yard = make_yard()
    with pytest.raises(Refused) as caught:
        make_piece(yard, **{key: value})
    assert caught.value.field == key
    assert caught.value.message.startswith(said)
    assert not ReferencePiece.objects.exists()


def test_criteria_may_be_left_out_but_not_all() -> None:
    yard = make_yard()
    assert list(make_piece(yard, C2=None, C5=None).agreed) == ["C1", "C3", "C4"]
    with pytest.raises(Refused) as caught:
        make_piece(yard, "B", **dict.fromkeys(AGREED))
    assert caught.value.field == "agreed"


@pytest.mark.parametrize("field", ["title", "description", "agreed_by"])
def test_every_text_is_needed_and_bounded(field: str) -> None:
    yard = make_yard()
    piece = make_piece(yard)
    for text in ("  ", "x" * 4001):
        with pytest.raises(Refused) as caught:
            change(piece, yard.lead, **{field: text})
        assert caught.value.field == field


def test_a_title_is_taken_once_under_a_standard() -> None:
    yard = make_yard()
    make_piece(yard)
    with pytest.raises(Refused) as caught:
        make_piece(yard)
    assert caught.value.field == "title"
    other = make_piece(yard, "Sill stone B")
    with pytest.raises(Refused) as caught:
        change(other, yard.lead, title="Sill stone A")
    assert caught.value.field == "title"


def test_agreed_scores_change_only_before_a_sitting() -> None:
    yard = make_yard()
    piece = make_piece(yard)
    later = {**AGREED, "C1": {"level": 2}}
    assert change(piece, yard.lead, agreed=later).agreed == later
    start_sitting(actor=yard.instructor, piece=piece)
    piece.refresh_from_db()
    for changes in ({"agreed": AGREED}, {"agreed_by": "Somebody else"}):
        with pytest.raises(Refused) as caught:
            change(piece, yard.lead, **changes)
        assert caught.value.field == "agreed"
    # What it is called does not tell what was agreed.
    assert change(piece, yard.lead, title="Sill stone, north").title == "Sill stone, north"


def test_a_retired_piece_is_not_begun_and_not_changed() -> None:
    yard: Yard = make_yard()
    piece = make_piece(yard)
    retire_reference_piece(actor=yard.lead, piece=piece)
    for again in (
        lambda: retire_reference_piece(actor=yard.lead, piece=piece),
        lambda: change(piece, yard.lead, title="Other"),
        lambda: start_sitting(actor=yard.instructor, piece=piece),
    ):
        with pytest.raises(Refused, match="retired"):
            again()
