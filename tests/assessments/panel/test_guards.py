"""What is refused, by the actions and by the database on its own."""

from collections.abc import Callable
from typing import Any

import pytest
from django.core.exceptions import PermissionDenied
from django.db import IntegrityError, transaction

from assessments.actions.constraints import violated
from assessments.actions.panel.judgements import make_judgement
from assessments.actions.panel.judges import (
    invite_judge,
    make_judge_link,
    stand_down,
    take_seat,
)
from assessments.actions.panel.preparing import abandon_panel, change_panel, open_panel
from assessments.actions.panel.rounds import close_round, end_judging, open_round
from assessments.models import Criterion, Judge, Judgement, Panel
from tests.assessments.panel.builders import (
    JUST_MEETS,
    Room,
    closed_training,
    enter,
    make_pieces,
    make_room,
    piece_keys,
    seat,
)
from tests.factories import make_organisation, make_person, make_program, make_role
from training.errors import Refused
from training.models import Enrolment, Person, Role

pytestmark = pytest.mark.django_db

HOW: dict[str, Any] = {"method": "angoff", "statistic": "mean", "just_meets": JUST_MEETS}


@pytest.fixture
def room() -> Room:
    return make_room()


def test_who_may_do_what(room: Room) -> None:
    judge, _ = room.seat(2)
    invited = invite_judge(
        actor=room.lead, panel=room.panel, full_name="Perpetua Longe", email="p@example.org"
    )
    opened = open_round(actor=room.lead, panel=room.panel)
    panel = Panel.objects.get(pk=room.panel.pk)
    people = {
        "lead": room.lead,
        "judge": judge.person,
        "instructor": make_role(Role.Kind.INSTRUCTOR, room.provider),
        "stranger": make_role(Role.Kind.LEAD, make_organisation()),
    }
    acts: dict[str, Callable[[Person], object]] = {
        "open": lambda actor: open_panel(actor=actor, program=room.program, **HOW),
        "change": lambda actor: change_panel(actor=actor, panel=panel, **HOW),
        "invite": lambda actor: invite_judge(
            actor=actor, panel=panel, full_name="Odd Name", email="odd@example.org"
        ),
        "link": lambda actor: make_judge_link(actor=actor, judge=invited),
        "seat": lambda actor: take_seat(
            actor=actor, judge=judge, qualifications="x", interests="none"
        ),
        "stand down": lambda actor: stand_down(actor=actor, judge=judge, reason="Moved away"),
        "judge": lambda actor: make_judgement(
            actor=actor,
            round=opened,
            subject_kind="criterion",
            subject_key="width",
            value={"share": "0.5"},
        ),
        "open round": lambda actor: open_round(actor=actor, panel=panel),
        "close round": lambda actor: close_round(actor=actor, round=opened, accept_gaps=True),
        "end": lambda actor: end_judging(actor=actor, panel=panel),
        "abandon": lambda actor: abandon_panel(actor=actor, panel=panel, reason="Enough"),
    }
    found = {
        name: {who for who, actor in people.items() if not denied(act, actor)}
        for name, act in acts.items()
    }
    only_lead = {"lead"}
    assert found == {
        **dict.fromkeys(acts, only_lead),
        "seat": {"judge"},
        "stand down": {"lead", "judge"},
        "judge": {"judge"},
    }


def denied(act: Callable[[Person], object], actor: Person) -> bool:
    """Say whether the action was denied; a refusal for another reason is no denial."""
    try:
        with transaction.atomic():
            act(actor)
            transaction.set_rollback(True)
    except PermissionDenied:
        return True
    except Refused:
        return False
    return False


@pytest.mark.parametrize(
    ("change", "field", "says"),
    [
        ({"method": "guess"}, "method", "one of the methods"),
        ({"statistic": "mode"}, "statistic", "sum up the judges"),
        ({"just_meets": "  "}, "just_meets", "Describe the mason"),
        ({"just_meets": "x" * 4001}, "just_meets", "at most 4000"),
        ({"method": "borderline"}, "sources", "finished pieces"),
        ({"method": "contrasting"}, "sources", "finished pieces"),
        ({"sense_check": True}, "sources", "sense check"),
    ],
)
def test_what_a_panel_cannot_be(room: Room, change: dict[str, Any], field: str, says: str) -> None:
    with pytest.raises(Refused, match=says) as refused:
        change_panel(actor=room.lead, panel=room.panel, **{**HOW, **change})
    assert refused.value.field == field


def test_runs_fit_the_method(room: Room) -> None:
    run = make_pieces(room.lead, room.provider, 1)
    other = make_organisation()
    foreign = make_pieces(make_role(Role.Kind.LEAD, other), other, 1)
    with pytest.raises(Refused, match="needs no scores"):
        change_panel(actor=room.lead, panel=room.panel, **HOW, sources=[run])
    with pytest.raises(Refused, match="only runs of this program"):
        change_panel(
            actor=room.lead, panel=room.panel, **{**HOW, "method": "borderline"}, sources=[foreign]
        )
    changed = change_panel(
        actor=room.lead, panel=room.panel, **{**HOW, "method": "borderline"}, sources=[run]
    )
    assert list(changed.sources.all()) == [run]


def test_one_panel_at_a_time_and_none_without_a_task(room: Room) -> None:
    with pytest.raises(Refused, match="Panel 1 is at work"):
        open_panel(actor=room.lead, program=room.program, **HOW)
    with pytest.raises(Refused, match="no practical task"):
        open_panel(actor=room.lead, program=make_program(room.provider), **HOW)
    with pytest.raises(Refused, match="Write why") as refused:
        abandon_panel(actor=room.lead, panel=room.panel, reason=" ")
    assert refused.value.field == "reason"
    abandon_panel(actor=room.lead, panel=room.panel, reason="The judges could not meet.")
    assert open_panel(actor=room.lead, program=room.program, **HOW).number == 2


def test_who_cannot_be_invited(room: Room) -> None:
    with pytest.raises(Refused, match="Who judges does not adopt") as refused:
        invite(room, room.lead)
    assert refused.value.field == "email"
    judge = seat(room.lead, room.panel)
    with pytest.raises(Refused, match=r"invited before \(seated\)"):
        invite(room, judge.person)
    stand_down(actor=room.lead, judge=judge, reason="Moved away")
    with pytest.raises(Refused, match=r"invited before \(stood down\)"):
        invite(room, judge.person)
    with pytest.raises(Refused) as misspelt:
        invite_judge(actor=room.lead, panel=room.panel, full_name="Perpetua", email="nowhere")
    assert misspelt.value.field == "email"


def test_nobody_judges_the_own_piece() -> None:
    room = make_room("borderline", pieces=1)
    maker = Enrolment.objects.get(run__panels=room.panel).person
    with pytest.raises(Refused, match="nobody judges the own piece"):
        invite(room, maker)
    # Invited first, and the run chosen afterwards.
    other = make_room()
    run = make_pieces(other.lead, other.provider, 1)
    other.seat(1)
    seat(other.lead, other.panel, Enrolment.objects.get(run=run).person)
    change_panel(
        actor=other.lead, panel=other.panel, **{**HOW, "method": "borderline"}, sources=[run]
    )
    with pytest.raises(Refused, match="Nobody judges the own piece"):
        open_round(actor=other.lead, panel=other.panel)


@pytest.mark.parametrize("field", ["qualifications", "interests"])
def test_a_judge_declares_both(room: Room, field: str) -> None:
    person = make_person()
    judge = invite(room, person)
    said = {"qualifications": "Mason", "interests": "none", field: " "}
    with pytest.raises(Refused) as refused:
        take_seat(actor=person, judge=judge, **said)
    assert refused.value.field == field
    judge.refresh_from_db()
    assert (judge.state, judge.qualifications) == (Judge.State.INVITED, "")


def test_a_first_password_only(room: Room) -> None:
    known = invite(room, make_person())
    with pytest.raises(Refused, match="has a password already"):
        make_judge_link(actor=room.lead, judge=known)
    new = invite_judge(
        actor=room.lead, panel=room.panel, full_name="Perpetua Longe", email="p@example.org"
    )
    assert set(make_judge_link(actor=room.lead, judge=new)) == {"uidb64", "token"}


def test_a_round_needs_two_judges_and_the_one_before_closed(room: Room) -> None:
    room.seat(1)
    with pytest.raises(Refused, match="at least 2 seated judges; there is 1"):
        open_round(actor=room.lead, panel=room.panel)
    room.panel.refresh_from_db()
    assert room.panel.state == Panel.State.PREPARING
    room.seat(1)
    opened = open_round(actor=room.lead, panel=room.panel)
    with pytest.raises(Refused, match="open already"):
        open_round(actor=room.lead, panel=room.panel)
    with pytest.raises(Refused, match="judging has begun"):
        change_panel(actor=room.lead, panel=room.panel, **HOW)
    close_round(actor=room.lead, round=opened, accept_gaps=True)
    with pytest.raises(Refused, match="closed already"):
        close_round(actor=room.lead, round=opened, accept_gaps=True)


def test_a_round_with_nothing_in_it_is_not_closed(room: Room) -> None:
    room.seat(2)
    closed_training(room)
    opened = open_round(actor=room.lead, panel=room.panel)
    with pytest.raises(Refused, match="Nobody has entered anything"):
        close_round(actor=room.lead, round=opened, accept_gaps=True)


def test_nothing_is_judged_once_the_criteria_changed(room: Room) -> None:
    judge, _ = room.seat(2)
    closed_training(room)
    opened = open_round(actor=room.lead, panel=room.panel)
    width = Criterion.objects.filter(task__program=room.program, key="width")
    width.update(title="Breadth")
    with pytest.raises(Refused, match="not what the judges were shown"):
        enter(judge, opened, "width", "0.6")
    width.update(title="Width")
    enter(judge, opened, "width", "0.6")
    close_round(actor=room.lead, round=opened, accept_gaps=True)
    width.update(title="Breadth")
    with pytest.raises(Refused, match="not what the judges were shown"):
        open_round(actor=room.lead, panel=room.panel)


@pytest.mark.parametrize(
    ("key", "value", "field"),
    [
        ("width", {"share": "1.01"}, "share"),
        ("width", {"share": "-0.1"}, "share"),
        ("width", {"share": "60 %"}, "share"),
        ("width", {"share": 0.6}, "share"),
        ("width", {"rating": 3}, None),
        ("width", {"share": "0.5", "more": 1}, None),
        ("no-such", {"share": "0.5"}, None),
        ("limits", {"least_cut": "0"}, None),
    ],
)
def test_what_cannot_be_entered(
    room: Room, key: str, value: dict[str, Any], field: str | None
) -> None:
    judge, _ = room.seat(2)
    opened = open_round(actor=room.lead, panel=room.panel)
    with pytest.raises(Refused) as refused:
        enter(judge, opened, key, value)
    assert refused.value.field == field
    assert not Judgement.objects.exists()


@pytest.mark.parametrize("rating", [0, 6, "3", True, [3], None])
def test_a_rating_is_a_whole_number_from_one_to_five(rating: object) -> None:
    room = make_room("borderline", pieces=1)
    judge, _ = room.seat(2)
    opened = open_round(actor=room.lead, panel=room.panel)
    with pytest.raises(Refused) as refused:
        enter(judge, opened, piece_keys(room)[0], {"rating": rating})
    assert refused.value.field == "rating"


def test_the_second_entry_replaces_the_first_and_a_retry_changes_nothing(room: Room) -> None:
    judge, _ = room.seat(2)
    opened = open_round(actor=room.lead, panel=room.panel)
    first = enter(judge, opened, "width", "0.50")
    assert first.value == {"share": "0.5"}
    assert enter(judge, opened, "width", "1/2") == first
    second = enter(judge, opened, "width", "0.7")
    assert second.replaces == first
    back = enter(judge, opened, "width", "0.5")
    assert back.replaces == second
    assert Judgement.objects.count() == 3


def test_the_database_refuses_on_its_own(room: Room) -> None:
    judge, other = room.seat(2)
    outsider = make_room().seat(1)[0]
    opened = open_round(actor=room.lead, panel=room.panel)
    made = enter(judge, opened, "width", "0.5")
    row = {"round": opened, "judge": judge, "subject_kind": "criterion", "subject_key": "clean"}
    value = {"value": {"share": "0.5"}}

    def insert(**change: Any) -> Callable[[], object]:
        return lambda: Judgement.objects.create(**{**row, **value, **change})

    refusals = {
        "judgement_by_seated_judge": insert(judge=outsider),
        "judgement_first_once": insert(subject_key="width"),
        "judgement_replaces_same_subject": insert(judge=other, replaces=made),
        "panel_fixed_once_judging": lambda: Panel.objects.filter(pk=room.panel.pk).update(
            just_meets="Another mason"
        ),
    }
    for name, act in refusals.items():
        assert violated_by(act) == name
    close_round(actor=room.lead, round=opened, accept_gaps=True)
    assert violated_by(insert()) == "judgement_round_open"
    with pytest.raises(Refused, match="round is closed"):
        enter(judge, opened, "clean", "0.5")


def violated_by(act: Callable[[], object]) -> str:
    """Return the name of the rule by which the database refuses."""
    with pytest.raises(IntegrityError) as error, transaction.atomic():
        act()
    return violated(error.value)


def invite(room: Room, person: Person) -> Judge:
    return invite_judge(
        actor=room.lead, panel=room.panel, full_name=person.full_name, email=person.email
    )
