"""What everybody sees of a closed round, by letter."""

import pytest

from assessments.actions.panel.judgements import make_judgement
from assessments.actions.panel.judges import stand_down
from assessments.actions.panel.rounds import close_round, open_round
from assessments.queries.panel.desk import desk_of
from tests.assessments.panel.builders import (
    CRITERIA,
    Room,
    closed_training,
    enter,
    enter_all,
    make_room,
    piece_keys,
)
from tests.assessments.panel.test_pages import page, pages_of_lead

pytestmark = pytest.mark.django_db


@pytest.fixture
def room() -> Room:
    return make_room()


def test_the_limits_show_by_letter_once_the_round_is_closed() -> None:
    room = make_room(pieces=1, sense_check=True)
    judge, other = room.seat(2)
    opened = open_round(actor=room.lead, panel=room.panel)
    limits = {"least_cut": "0.513", "most_cut": "0.8", "least_fail": "0", "most_fail": "0.4"}
    enter(judge, opened, "limits", limits)
    hidden = [*pages_of_lead(room.panel), page(other.person, "judging_check", other.pk)]
    assert not any("51.3" in text or "0.51" in text for text in hidden)
    close_round(actor=room.lead, round=opened, accept_gaps=True)
    [section] = [each for each in desk_of(room.panel).sections if each["key"] == "limits"]
    assert section["tables"][0]["rows"] == [
        ["Judge A", "0.513", "0.8", "0", "0.4"],
        ["Judge B", None, None, None, None],
    ]


def test_a_closed_round_on_pieces_shows_each_rating_by_letter() -> None:
    room = make_room("borderline", pieces=2)
    judge, _ = room.seat(2)
    closed_training(room)
    opened = open_round(actor=room.lead, panel=room.panel)
    enter(judge, opened, piece_keys(room)[1], {"rating": 4})
    close_round(actor=room.lead, round=opened, accept_gaps=True)
    [section] = desk_of(room.panel).sections
    assert section["summary"] == "0 of 2 judges judged all 2 pieces."
    assert section["tables"][0]["rows"] == [["Piece 1", None, None], ["Piece 2", "4", None]]


def test_a_closed_round_by_ebel_shows_where_the_judges_placed_the_criteria() -> None:
    room = make_room("ebel")
    judge, _ = room.seat(2)
    closed_training(room)
    opened = open_round(actor=room.lead, panel=room.panel)
    for key in CRITERIA:
        enter(judge, opened, key, {"relevance": "essential", "difficulty": "hard"})
    enter(judge, opened, "essential-hard", "0.55")
    close_round(actor=room.lead, round=opened, accept_gaps=True)
    placements, spread = desk_of(room.panel).sections
    assert placements["summary"].startswith("1 of 2 judges placed all 5 criteria")
    assert placements["tables"][0]["rows"][0] == ["Arris", "Essential and hard", None]
    # The share of a cell stands for each criterion in it.
    assert [row[-2:] for row in spread["tables"][0]["rows"]] == [["0.55", None]] * 5


def test_letters_stay_when_a_judge_stands_down(room: Room) -> None:
    first, second = room.seat(2)
    opened = open_round(actor=room.lead, panel=room.panel)
    enter_all(second, opened, "0.7")
    stand_down(actor=first.person, judge=first, reason="Ill")
    close_round(actor=room.lead, round=opened)
    [section] = desk_of(room.panel).sections
    assert section["tables"][0]["columns"][-1] == "Judge B"
    assert section["summary"].startswith("One judge estimated.")


def test_a_note_shows_by_letter_once_the_round_is_closed(room: Room) -> None:
    first, second = room.seat(2)
    opened = open_round(actor=room.lead, panel=room.panel)
    make_judgement(
        actor=first.person,
        round=opened,
        subject_kind="criterion",
        subject_key="width",
        value={"share": "0.6"},
        note="The caliper slips on sandstone.",
    )
    asked = ("judging_subject", second.pk, "criterion", "width")
    assert "caliper" not in page(second.person, *asked)
    assert not any("caliper" in text for text in pages_of_lead(room.panel))
    close_round(actor=room.lead, round=opened, accept_gaps=True)
    open_round(actor=room.lead, panel=room.panel)
    assert "The caliper slips on sandstone." in page(second.person, *asked)
