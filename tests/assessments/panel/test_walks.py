"""Each method from the opened panel to the end of the judging."""

from typing import Any

import numpy as np
import pytest
from django.core import mail

from assessments.actions.panel.judges import invite_judge, stand_down
from assessments.actions.panel.rounds import close_round, end_judging, open_round
from assessments.models import Panel
from assessments.queries.panel.arrays import ebel_arrays, judgement_arrays, limits_arrays
from tests.assessments.panel.builders import (
    CRITERIA,
    Room,
    closed_training,
    enter,
    enter_all,
    make_room,
    piece_keys,
)
from training.errors import Refused
from training.models import LogEntry

pytestmark = pytest.mark.django_db

LIMITS = {"least_cut": "0.5", "most_cut": "0.8", "least_fail": "0", "most_fail": "0.4"}


@pytest.fixture
def room() -> Room:
    return make_room()


def test_angoff_needs_two_rounds_beside_the_training() -> None:
    room = make_room()
    first, second = room.seat(2)
    training = closed_training(room)
    assert training.number == 0
    one = open_round(actor=room.lead, panel=room.panel)
    enter_all(first, one, "0.6")
    enter_all(second, one, "2/3")
    close_round(actor=room.lead, round=one)
    with pytest.raises(Refused, match="needs 2 rounds beside the training round; so far 1"):
        end_judging(actor=room.lead, panel=room.panel)
    two = open_round(actor=room.lead, panel=room.panel)
    enter_all(first, two, "0.65")
    enter(second, two, "width", "0.7")
    with pytest.raises(Refused, match="4 of 10 entries are missing") as refused:
        close_round(actor=room.lead, round=two)
    assert refused.value.field == "accept_gaps"
    close_round(actor=room.lead, round=two, accept_gaps=True, discussion="The arris.")
    ended = end_judging(actor=room.lead, panel=room.panel)
    assert ended.state == Panel.State.JUDGED
    found = judgement_arrays(ended, two)
    assert (found.judges, found.items) == (("A", "B"), CRITERIA)
    assert found.judge_rows == (first, second)
    missing = np.nan
    np.testing.assert_array_equal(
        found.estimates, [[0.65] * 5, [missing, 0.7, missing, missing, missing]]
    )
    earlier = judgement_arrays(ended, one).estimates
    np.testing.assert_allclose(earlier, [[0.6] * 5, [2 / 3] * 5])


def test_ebel_asks_for_the_cells_that_the_own_placements_use() -> None:
    room = make_room("ebel")
    first, second = room.seat(2)
    closed_training(room)
    opened = open_round(actor=room.lead, panel=room.panel)
    easy = {"relevance": "essential", "difficulty": "easy"}
    hard = {"relevance": "important", "difficulty": "hard"}
    with pytest.raises(Refused, match="Nothing is asked about this"):
        enter(first, opened, "essential-easy", "0.9")
    for key in CRITERIA:
        enter(first, opened, key, easy if key != "width" else hard)
    with pytest.raises(Refused, match="7 of 12 entries are missing"):
        # 5 placements and 2 cells of the first, 5 placements of the second, who has no cell yet.
        close_round(actor=room.lead, round=opened)
    enter(first, opened, "essential-easy", "0.9")
    enter(first, opened, "important-hard", "0.5")
    enter(second, opened, "width", hard)
    found = ebel_arrays(room.panel, opened)
    assert found.placements == (
        ("essential-easy", "important-hard", "essential-easy", "essential-easy", "essential-easy"),
        (None, "important-hard", None, None, None),
    )
    shares = dict(zip(found.cells, found.shares[0].tolist(), strict=True))
    assert (shares.pop("essential-easy"), shares.pop("important-hard")) == (0.9, 0.5)
    assert np.isnan(list(shares.values())).all()
    assert np.isnan(found.shares[1]).all()
    # A cell that nothing stands in any more does not count.
    enter(first, opened, "width", easy)
    assert np.isnan(ebel_arrays(room.panel, opened).shares[0][5:6]).all()
    assert np.nansum(ebel_arrays(room.panel, opened).shares[0]) == 0.9


@pytest.mark.parametrize(
    ("method", "values", "numbers"),
    [
        ("borderline", [{"rating": 3}, {"rating": 5}], [3.0, 5.0]),
        ("contrasting", [{"group": "competent"}, {"group": "not_yet"}], [1.0, 0.0]),
    ],
)
def test_pieces_are_judged_in_one_round(
    method: str, values: list[dict[str, Any]], numbers: list[float]
) -> None:
    room = make_room(method, pieces=2)
    first, _ = room.seat(2)
    closed_training(room)
    with pytest.raises(Refused, match="needs one round beside the training round; so far 0"):
        end_judging(actor=room.lead, panel=room.panel)
    opened = open_round(actor=room.lead, panel=room.panel)
    keys = piece_keys(room)
    for key, value in zip(keys, values, strict=True):
        enter(first, opened, key, value)
    close_round(actor=room.lead, round=opened, accept_gaps=True)
    assert end_judging(actor=room.lead, panel=room.panel).state == Panel.State.JUDGED
    found = judgement_arrays(room.panel, opened)
    assert found.items == tuple(keys)
    np.testing.assert_array_equal(found.estimates, [numbers, [np.nan, np.nan]])


def test_the_sense_check_is_one_more_entry() -> None:
    room = make_room(pieces=1, sense_check=True)
    first, _ = room.seat(2)
    opened = open_round(actor=room.lead, panel=room.panel)
    enter(first, opened, "limits", LIMITS)
    with pytest.raises(Refused, match="11 of 12 entries are missing"):
        close_round(actor=room.lead, round=opened)
    found = limits_arrays(room.panel, opened)
    np.testing.assert_array_equal(found.estimates, [[0.5, 0.8, 0, 0.4], [np.nan] * 4])
    with pytest.raises(Refused, match="highest lies below the lowest") as refused:
        enter(first, opened, "limits", {**LIMITS, "most_fail": "0", "least_fail": "0.1"})
    assert refused.value.field == "most_fail"


def test_a_judge_keeps_the_letter_when_another_stands_down(room: Room) -> None:
    first, second = room.seat(2)
    opened = open_round(actor=room.lead, panel=room.panel)
    enter_all(first, opened)
    stand_down(actor=first.person, judge=first, reason="Ill")
    found = judgement_arrays(room.panel, opened)
    assert (found.judges, found.judge_rows) == (("B",), (second,))
    assert np.isnan(found.estimates).all()


def test_an_invitation_tells_where_the_seat_is(
    room: Room, django_capture_on_commit_callbacks: Any, settings: Any
) -> None:
    settings.BASE_URL = "https://yard.example.org"
    with django_capture_on_commit_callbacks(execute=True):
        judge = invite_judge(
            actor=room.lead, panel=room.panel, full_name="Perpetua Longe", email="p@example.org"
        )
    [sent] = mail.outbox
    assert sent.to == ["p@example.org"]
    assert f"https://yard.example.org/judging/{judge.pk}/" in sent.body
    assert "You have no password yet" in sent.body
    assert not judge.person.has_usable_password()


def test_every_step_is_in_the_log_and_no_value_is() -> None:
    room = make_room()
    first, _ = room.seat(2)
    opened = open_round(actor=room.lead, panel=room.panel)
    enter(first, opened, "width", "0.613")
    close_round(actor=room.lead, round=opened, accept_gaps=True)
    rows = LogEntry.objects.order_by("seq")
    assert [row.verb for row in rows][1:] == [
        "panel.opened",
        *["judge.invited", "judge.seated"] * 2,
        "round.opened",
        "judgement.made",
        "round.closed",
    ]
    made = rows.get(verb="judgement.made").data
    assert set(made) == {"round", "subject", "content_digest"}
    assert made["subject"] == {"kind": "criterion", "key": "width"}
