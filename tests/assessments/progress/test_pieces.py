"""Practice pieces: scored by the standard's own forms, counting for nothing."""

import uuid
from datetime import timedelta
from typing import Any

import pytest
from django.core.exceptions import PermissionDenied
from django.urls import reverse

from assessments.actions.practice_pieces import record_piece, score_piece
from assessments.models import Decision, PracticePiece, PracticeScore
from assessments.queries.practice_pieces import piece_sheet
from tests.assessments.builders import GOOD, Yard
from tests.assessments.progress.builders import browser, decided, piece, practice_yard, today
from tests.factories import enrol, make_person, make_program, make_run
from training.errors import Refused
from training.models import Enrolment, LogEntry

pytestmark = pytest.mark.django_db


@pytest.fixture
def yard(db: None) -> Yard:
    """Return a yard with modules, whose run is on."""
    return practice_yard()


def test_a_piece_is_scored_and_corrected_once_each(yard: Yard) -> None:
    made = piece(yard, C1={"level": 0})
    sent = uuid.uuid4()
    facts: dict[str, Any] = {"actor": yard.lead, "piece": made, "criterion": "C1"}
    first = made.scores.get()
    again = {**facts, "value": {"level": 2}, "score_id": sent, "replaces": first.pk}
    second = score_piece(**again)
    assert score_piece(**again) == second
    assert (second.replaces, made.scores.count()) == (first, 2)
    with pytest.raises(Refused, match="scored meanwhile"):
        score_piece(**facts, value={"level": 1}, replaces=first.pk)
    with pytest.raises(Refused, match="scored meanwhile"):
        score_piece(**facts, value={"level": 1})
    assert piece_sheet(made).line("C1").word == "met"  # type: ignore[union-attr]
    score_piece(**facts, value={"cleared": True}, replaces=second.pk)
    assert piece_sheet(made).line("C1").word == "unscored"  # type: ignore[union-attr]
    verbs = LogEntry.objects.filter(verb__startswith="practice_piece").order_by("seq")
    assert [verb.split(".")[1] for verb in verbs.values_list("verb", flat=True)] == [
        "recorded", "scored", "corrected", "corrected",
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("key", "value"), [("C1", {"level": 9}), ("C9", {"level": 0}), ("C3", {"count": 1}), ("C1", {})]
)
def test_what_the_criterion_cannot_have_is_refused(
    yard: Yard, key: str, value: dict[str, Any]
) -> None:
    made = piece(yard)
    with pytest.raises(Refused) as refused:
        score_piece(actor=yard.instructor, piece=made, criterion=key, value=value)
    assert refused.value.field == "value"
    assert not PracticeScore.objects.exists()


def test_days_sessions_titles_and_places_are_looked_at(yard: Yard) -> None:
    now = today(yard)
    for changes, field in (
        ({"title": " "}, "title"),
        ({"title": "x" * 201}, "title"),
        ({"made_on": now + timedelta(days=1)}, "made_on"),
        ({"made_on": yard.run.starts_on - timedelta(days=1)}, "made_on"),
    ):
        with pytest.raises(Refused) as refused:
            record_piece(
                actor=yard.instructor,
                enrolment=yard.enrolment,
                **{"title": "Sill", "made_on": now, **changes},  # type: ignore[arg-type]
            )
        assert refused.value.field == field
    Enrolment.objects.filter(pk=yard.enrolment.pk).update(state="withdrawn")
    yard.enrolment.refresh_from_db()
    with pytest.raises(Refused, match="not enrolled"):
        piece(yard)
    unsealed = make_run(make_program(yard.provider), instructors=(yard.instructor,))
    with pytest.raises(Refused, match="seals it first"):
        piece(yard, enrolment=enrol(unsealed, make_person()))
    assert not PracticePiece.objects.exists()


def test_only_who_teaches_the_run_scores(yard: Yard) -> None:
    made, other = piece(yard), practice_yard()
    for stranger in (yard.trainee, other.instructor, other.lead, make_person()):
        with pytest.raises(PermissionDenied):
            record_piece(
                actor=stranger, enrolment=yard.enrolment, title="Sill", made_on=today(yard)
            )
        with pytest.raises(PermissionDenied):
            score_piece(actor=stranger, piece=made, criterion="C1", value={"level": 1})


def test_practice_changes_no_decision(yard: Yard) -> None:
    values: dict[str, Any] = dict(GOOD)
    piece(yard, **values)
    attempt = decided(yard)
    decision = attempt.decisions.get()
    assert decision.result == Decision.Result.NOT_YET_MET
    assert not Decision.objects.filter(observations__contains={"attempt": "piece"}).exists()
    assert len(decision.observations["observations"]) == 6  # five criteria and a hold point


def test_the_pages_take_a_piece_and_its_scores(yard: Yard) -> None:
    client = browser(yard.instructor)
    new = reverse("practice_piece_new", args=[yard.enrolment.pk])
    late = (today(yard) + timedelta(days=3)).isoformat()
    answer = client.post(new, {"title": "Sill of bay 3", "made_on": late, "session": ""})
    assert answer.status_code == 422
    assert "Sill of bay 3" in answer.content.decode()
    answer = client.post(new, {"title": "Sill of bay 3", "made_on": today(yard).isoformat()})
    made = PracticePiece.objects.get()
    assert answer["Location"] == reverse("practice_piece", args=[made.pk])
    score = reverse("practice_score", args=[made.pk, "C2"])
    assert "counts for nothing" in client.get(score).content.decode()
    sent = {"observation_id": str(uuid.uuid4()), "replaces": "", "note": "Left end"}
    answer = client.post(score, {**sent, "reading_0": "one eighth", "reading_1": "1/8"})
    assert answer.status_code == 422
    assert "one eighth" in answer.content.decode()
    answer = client.post(score, {**sent, "reading_0": "1/8", "reading_1": "1/8"})
    assert (answer.status_code, made.scores.get().note) == (302, "Left end")
    assert "Met" in client.get(score).content.decode()
    undo = {"undo": "yes", "observation_id": str(uuid.uuid4()), "replaces": made.scores.get().pk}
    assert client.post(score, undo).status_code == 302
    assert made.scores.count() == 2
    own = browser(yard.trainee)
    shown = own.get(reverse("practice_piece", args=[made.pk]))
    assert "counts for nothing" in shown.content.decode()
    assert own.get(score).status_code == 403
    fellow = make_person()
    enrol(yard.run, fellow)
    assert browser(fellow).get(reverse("practice_piece", args=[made.pk])).status_code == 404
