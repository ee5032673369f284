"""Scoring a reference piece: alone, whole, corrected by new rows, once."""

import uuid
from datetime import timedelta

import pytest
from django.core.exceptions import PermissionDenied
from django.utils import timezone

from assessments.actions.calibration import (
    finish_sitting,
    retire_reference_piece,
    score_reference,
    start_sitting,
)
from assessments.models import CalibrationScore, CalibrationSitting
from tests.assessments.builders import at_once, make_yard, readings
from tests.assessments.calibration.builders import AGREED, ask, finished_on, make_piece, score, sit
from training.errors import Refused
from training.models import LogEntry


@pytest.mark.django_db
def test_instructors_and_leads_sit_and_nobody_else() -> None:
    yard = make_yard()
    piece, other = make_piece(yard), make_yard()
    for person in (yard.instructor, yard.lead):
        assert start_sitting(actor=person, piece=piece).assessor == person
    for person in (yard.trainee, other.lead, other.instructor):
        with pytest.raises(PermissionDenied):
            start_sitting(actor=person, piece=piece)


@pytest.mark.django_db
def test_a_sitting_is_gone_on_with() -> None:
    yard = make_yard()
    piece = make_piece(yard)
    first = start_sitting(actor=yard.instructor, piece=piece)
    assert start_sitting(actor=yard.instructor, piece=piece) == first
    # A piece retired meanwhile is still scored to the end by who began.
    retire_reference_piece(actor=yard.lead, piece=piece)
    assert start_sitting(actor=yard.instructor, piece=piece) == first
    score(first)
    assert finish_sitting(actor=yard.instructor, sitting=first).state == "finished"


@pytest.mark.django_db(transaction=True)
def test_two_clicks_make_one_sitting() -> None:
    yard = make_yard()
    piece = make_piece(yard)
    found = at_once(lambda number: start_sitting(actor=yard.instructor, piece=piece))
    assert found[0] == found[1] == CalibrationSitting.objects.get()


@pytest.mark.django_db
def test_a_correction_is_a_new_row() -> None:
    yard = make_yard()
    sitting = start_sitting(actor=yard.instructor, piece=make_piece(yard))

    def give(level: int) -> CalibrationScore:
        return score_reference(
            actor=yard.instructor, sitting=sitting, criterion="C1", value={"level": level}
        )

    first, second = give(0), give(2)
    assert second.replaces == first
    assert give(2) == second  # the same again is nothing new
    assert give(0).replaces == second
    assert sitting.scores.count() == 3
    assert sitting.scores.get(replaced_by__isnull=True).value == {"level": 0}
    verbs = LogEntry.objects.filter(verb__startswith="sitting.").order_by("seq")
    assert list(verbs.values_list("verb", flat=True)) == [
        "sitting.started",
        "sitting.scored",
        "sitting.corrected",
        "sitting.corrected",
    ]


@pytest.mark.django_db
def test_a_page_sent_twice_is_stored_once() -> None:
    yard = make_yard()
    sitting = start_sitting(actor=yard.instructor, piece=make_piece(yard))
    sent = uuid.uuid4()
    for level in (1, 2):  # a late repeat does not undo anything either
        stored = score_reference(
            actor=yard.instructor,
            sitting=sitting,
            criterion="C1",
            value={"level": level},
            score_id=sent,
        )
        assert (stored.pk, stored.value) == (sent, {"level": 1})


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("criterion", "value"),
    [
        ("C1", {"level": 9}),
        ("C1", {"cleared": True}),
        ("C2", readings(("wide", "wide", "in"))),
        ("C9", {"level": 1}),
        ("fit", {"accepted": True}),
    ],
)
def test_what_a_criterion_cannot_have_is_refused(criterion: str, value: dict[str, object]) -> None:
    yard = make_yard()
    sitting = start_sitting(actor=yard.instructor, piece=make_piece(yard))
    with pytest.raises(Refused) as caught:
        score_reference(actor=yard.instructor, sitting=sitting, criterion=criterion, value=value)
    assert caught.value.field == "value"
    assert not CalibrationScore.objects.exists()


@pytest.mark.django_db
def test_only_what_was_agreed_on_is_scored() -> None:
    yard = make_yard()
    sitting = start_sitting(actor=yard.instructor, piece=make_piece(yard, C3=None))
    with pytest.raises(Refused, match="not scored on this piece"):
        score_reference(
            actor=yard.instructor, sitting=sitting, criterion="C3", value={"answer": True}
        )


@pytest.mark.django_db
def test_nobody_scores_in_the_sitting_of_another() -> None:
    yard = make_yard()
    sitting = start_sitting(actor=yard.instructor, piece=make_piece(yard))
    with pytest.raises(PermissionDenied):
        score_reference(actor=yard.lead, sitting=sitting, criterion="C1", value={"level": 1})
    with pytest.raises(PermissionDenied):
        finish_sitting(actor=yard.lead, sitting=sitting)


@pytest.mark.django_db
def test_who_teaches_no_more_scores_no_more() -> None:
    yard = make_yard()
    sitting = start_sitting(actor=yard.instructor, piece=make_piece(yard))
    yard.run.instructors.clear()
    with pytest.raises(PermissionDenied):
        score_reference(actor=yard.instructor, sitting=sitting, criterion="C1", value={"level": 1})


@pytest.mark.django_db
def test_it_is_finished_whole() -> None:
    yard = make_yard()
    sitting = start_sitting(actor=yard.instructor, piece=make_piece(yard, C4=None))
    for key in ("C1", "C2", "C3"):
        score_reference(actor=yard.instructor, sitting=sitting, criterion=key, value=AGREED[key])
    begun = {"start": AGREED["C5"]["start"]}
    score_reference(actor=yard.instructor, sitting=sitting, criterion="C5", value=begun)
    with pytest.raises(Refused, match=r"Still to score: Criterion C5\.$"):
        finish_sitting(actor=yard.instructor, sitting=sitting)
    score_reference(actor=yard.instructor, sitting=sitting, criterion="C5", value=AGREED["C5"])
    done = finish_sitting(actor=yard.instructor, sitting=sitting)
    assert (done.state, done.finished_at is not None) == ("finished", True)
    entry = LogEntry.objects.get(verb="sitting.finished")
    assert (entry.data["criteria"], entry.data["same"], entry.data["bias"]) == (4, 4, "0")
    for again in (
        lambda: finish_sitting(actor=yard.instructor, sitting=sitting),
        lambda: score_reference(
            actor=yard.instructor, sitting=sitting, criterion="C1", value={"level": 2}
        ),
    ):
        with pytest.raises(Refused, match="finished"):
            again()


@pytest.mark.django_db
def test_a_piece_whose_scores_were_seen_is_not_scored_again_soon() -> None:
    yard = make_yard()
    piece = make_piece(yard)
    sitting = sit(yard.instructor, piece)
    with pytest.raises(Refused, match=r"saw the agreed scores\. Choose another one"):
        start_sitting(actor=yard.instructor, piece=piece)
    ask(yard, months=1)
    with pytest.raises(Refused, match="It can be scored again after"):
        start_sitting(actor=yard.instructor, piece=piece)
    finished_on(sitting, timezone.localdate() - timedelta(days=40))
    assert start_sitting(actor=yard.instructor, piece=piece) != sitting
