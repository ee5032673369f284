"""Adopting a recommendation: what it writes, and what it refuses at which field."""

from typing import Any

import pytest
import rfc8785
from django.core.exceptions import PermissionDenied
from django.db import IntegrityError, transaction

from assessments.actions.constraints import violated
from assessments.actions.panel.adoption import adopt
from assessments.models import Adoption, Criterion, Judge, Judgement, Panel, PassRule
from assessments.queries.program_document import program_document
from tests.assessments.panel_adoption.world import (
    ADOPTED,
    World,
    begin,
    finish,
    judge_says,
    make_panel,
    make_world,
    open_round,
    seat,
)
from tests.factories import make_role
from training.digests import digest
from training.errors import Refused
from training.models import LogEntry, Role

pytestmark = pytest.mark.django_db


@pytest.fixture
def world() -> World:
    return make_world()


def adopted(world: World, **changes: object) -> Adoption:
    said: dict[str, Any] = {**ADOPTED, **changes}
    return adopt(actor=world.lead, panel=world.panel, **said)


def test_adopting_writes_the_draft_and_keeps_the_whole_panel(world: World) -> None:
    found = adopted(world, band="2.31 %", outcome_minima={"O1": "", "O2": "2/3"}, critical={"bed"})
    document = program_document(world.program)
    assert document["pass_rule"]["cut"] == "0.7367"
    assert document["pass_rule"]["band"] == "0.0231"
    assert document["pass_rule"]["assessors"] == {"required": 1, "combine": "mean"}
    assert [row["minimum"] for row in document["outcomes"]] == [None, "2/3"]
    assert [row["key"] for row in document["task"]["criteria"] if row["critical"]] == ["bed"]
    world.panel.refresh_from_db()
    assert world.panel.state == Panel.State.ADOPTED
    assert (found.recommended_cut, found.standard_error) == ("0.7367", "0.0231")
    assert (found.adopted_cut, found.band, found.reason) == ("0.7367", "0.0231", "")
    assert found.adopted_by == world.lead
    kept = Adoption.objects.get(panel=world.panel)
    assert kept.digest == digest(kept.document)
    said = kept.document
    assert rfc8785.dumps(said)  # raises for a float beyond what JSON tells apart, and for others
    assert (said["schema"], said["method"], said["statistic"]) == (
        "bankermark/panel/1",
        "angoff",
        "mean",
    )
    assert [judge["judge"] for judge in said["judges"]] == list("ABCDE")
    assert said["judges"][0]["qualifications"] == "Twenty years at the banker"
    assert [len(round["judgements"]) for round in said["rounds"]] == [6, 30, 30]
    assert said["rounds"][2]["discussion"] == "We talked over the bed."
    assert said["recommendation"]["sections"][0]["figures"][0]["value"] == "0.736667"
    assert said["adoption"]["minima"] == {"O1": None, "O2": "2/3"}
    row = LogEntry.objects.get(verb="panel.adopted")
    assert (row.actor, row.subject_id) == (world.lead, str(world.panel.pk))
    assert row.data["digest"] == kept.digest


def floats_in(value: object) -> list[float]:
    if isinstance(value, float):
        return [value]
    parts = value.values() if isinstance(value, dict) else value if isinstance(value, list) else []
    return [found for part in parts for found in floats_in(part)]


def test_no_float_is_in_the_document(world: World) -> None:
    assert floats_in({"a": [1.5]}) == [1.5]
    assert floats_in(adopted(world).document) == []


def test_another_cut_needs_a_reason(world: World) -> None:
    with pytest.raises(Refused, match="Say why the cut differs") as refused:
        adopted(world, cut="75 %", reason="  ")
    assert refused.value.field == "reason"
    assert not Adoption.objects.exists()
    reason = "The guild asks for 75 %."
    found = adopted(world, cut="3/4", reason=f" {reason} ")
    assert (found.adopted_cut, found.recommended_cut, found.reason) == ("0.75", "0.7367", reason)


@pytest.mark.parametrize(
    ("changes", "field", "said"),
    [
        ({"cut": ""}, "cut", "Write a percentage such as 70 %."),
        ({"cut": "0.7"}, "cut", "Write the percent sign: 0.7 %"),
        ({"cut": "seventy"}, "cut", "Write a percentage such as 60 %"),
        ({"cut": "101 %"}, "cut", "from 0 % to 100 %"),
        ({"cut": "0 %"}, "cut", "above 0 %"),
        ({"band": "-1 %"}, "band", "from 0 % to 100 %"),
        ({"band": "26.34 %"}, "band", "more than 100 %"),
        ({"outcome_minima": {"O1": "half", "O2": ""}}, "minimum_O1", "Write a percentage"),
        ({"outcome_minima": {"O1": "", "O2": ""}}, None, "No outcome has a minimum"),
        ({"outcome_minima": {"O1": "50 %"}}, None, "each outcome of the program: O2"),
        ({"outcome_minima": {**ADOPTED["outcome_minima"], "O9": ""}}, None, "program: O9"),
        ({"critical": set()}, "critical", "No criterion is critical"),
        ({"critical": {"wet", "dry"}}, "critical", "no criterion dry"),
        ({"reason": "x" * 4001}, "reason", "at most 4000 characters"),
    ],
)
def test_what_is_refused_at_which_field(
    world: World, changes: dict[str, Any], field: str | None, said: str
) -> None:
    before = program_document(world.program)
    with pytest.raises(Refused, match=said) as refused:
        adopted(world, **changes)
    assert refused.value.field == field
    assert program_document(world.program) == before
    assert not Adoption.objects.exists()


def test_cut_and_band_may_come_to_the_whole(world: World) -> None:
    assert adopted(world, band="26.33 %").band == "0.2633"


def test_an_empty_band_is_none_at_all(world: World) -> None:
    assert adopted(world, band="").band == ""
    assert PassRule.objects.get(program=world.program).document["band"] is None


def test_only_a_lead_of_the_provider_adopts(world: World) -> None:
    for kind in (Role.Kind.INSTRUCTOR, Role.Kind.CONTRACTOR):
        with pytest.raises(PermissionDenied):
            adopt(actor=make_role(kind, world.provider), panel=world.panel, **ADOPTED)
    assert not Adoption.objects.exists()


@pytest.mark.parametrize("state", ["seated", "stood_down"])
def test_who_judged_does_not_adopt(world: World, state: str) -> None:
    judge = world.judges[0]
    Role.objects.create(person=judge.person, organisation=world.provider, kind=Role.Kind.LEAD)
    Judge.objects.filter(pk=judge.pk).update(state=state, stood_down_because="Busy")
    with pytest.raises(Refused, match="Who judged does not adopt"):
        adopt(actor=judge.person, panel=world.panel, **ADOPTED)
    # Another lead, who did not judge, may.
    assert adopted(world, cut="80 %", reason="Stricter").panel == world.panel


def test_a_panel_is_adopted_once_and_only_after_the_judging(world: World) -> None:
    adopted(world)
    with pytest.raises(Refused, match="once the judging is closed"):
        adopted(world)
    assert Adoption.objects.count() == 1
    panel = make_panel(world.program, world.lead)
    with pytest.raises(Refused, match="once the judging is closed"):
        adopt(actor=world.lead, panel=panel, **ADOPTED)


def test_criteria_changed_since_the_judging_are_refused(world: World) -> None:
    row = Criterion.objects.get(key="bed")
    row.title = "Bed full and damp"
    row.save()
    with pytest.raises(Refused, match="changed since the judges saw them"):
        adopted(world)
    assert not Adoption.objects.exists()


def test_what_the_adoption_sets_may_have_changed_since(world: World) -> None:
    Criterion.objects.filter(key="bed").update(critical=True)
    rule = PassRule.objects.get(program=world.program)
    rule.document = {**rule.document, "cut": "0.9", "band": None}
    rule.save()
    assert adopted(world).adopted_cut == "0.7367"


def test_a_panel_without_a_recommendation_has_nothing_to_adopt(world: World) -> None:
    world.panel.state = Panel.State.ABANDONED
    world.panel.ended_because = "Begun anew"
    world.panel.save()
    panel = make_panel(world.program, world.lead)
    judge = seat(panel, world.lead, "Lone judge")
    begin(panel)
    judge_says(open_round(panel, 1, world.lead), judge, "bed", {"share": "0.5"})
    finish(panel)
    with pytest.raises(Refused, match=r"recommends no cut.*No round that counts is closed"):
        adopt(actor=world.lead, panel=panel, **ADOPTED)


def row_of(world: World, **changes: object) -> dict[str, object]:
    return {
        "panel": world.panel,
        "recommended_cut": "0.7",
        "adopted_cut": "0.7",
        "document": {},
        "digest": "0" * 64,
        "adopted_by": world.lead,
        **changes,
    }


def refused_by(work: Any) -> str:
    with pytest.raises(IntegrityError) as error, transaction.atomic():
        work()
    return violated(error.value)


def test_the_database_holds_it_too(world: World) -> None:
    judge = world.judges[0].person

    def create(**changes: object) -> None:
        Adoption.objects.create(**row_of(world, **changes))

    assert refused_by(lambda: create(adopted_by=judge)) == "adoption_not_by_judge"
    assert refused_by(lambda: create(adopted_cut="0.8")) == "adoption_differs_with_reason"
    assert refused_by(lambda: create(digest="short")) == "adoption_digest_form"
    create(adopted_cut="0.8", reason="Stricter")
    world.panel.state = Panel.State.ADOPTED
    world.panel.save()
    assert refused_by(create) == "adoption_panel_judged"
    with pytest.raises(Exception, match=r"is append-only"):  # noqa: SIM117
        with transaction.atomic():
            Adoption.objects.update(reason="Other")


def test_a_closed_round_takes_no_more_judgements(world: World) -> None:
    last = world.panel.rounds.get(number=2)
    count = Judgement.objects.count()
    assert (
        refused_by(lambda: judge_says(last, world.judges[0], "x", {"share": "0.1"}))
        == "judgement_round_open"
    )
    assert Judgement.objects.count() == count
