"""What stands is shown as standing and never asked for: on the desk, on a device, on paper."""

import re
import uuid
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from assessments.actions.observations import record_observation
from assessments.actions.retakes import start_retake
from assessments.actions.site.batches import receive
from assessments.actions.site.packs import take_pack
from assessments.models import Attempt, SetAside
from assessments.queries.score_paper import printed_sheet
from assessments.queries.sheet import score_sheet
from assessments.queries.site.pack_document import pack_document
from tests.assessments.builders import GOOD, Yard, event, score_all
from tests.assessments.retakes.builders import SEEN, failed_yard
from training.errors import Refused
from training.models import Person

pytestmark = pytest.mark.django_db
STANDS = [("criterion", "C1"), ("criterion", "C2"), ("hold_point", "fit")]


@pytest.fixture
def made() -> tuple[Yard, Attempt]:
    yard, first = failed_yard()
    attempt = start_retake(actor=yard.instructor, attempt=first, whole=False, stands=SEEN)
    return yard, attempt


def browser(person: Person) -> Client:
    client = Client()
    client.force_login(person)
    return client


def text(response: Any) -> str:
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", response.content.decode()))


@pytest.mark.parametrize("who", ["instructor", "lead"])
def test_the_sheet_asks_each_assessor_for_the_open_stage_alone(
    made: tuple[Yard, Attempt], who: str
) -> None:
    yard, attempt = made
    sheet = score_sheet(attempt, getattr(yard, who))
    assert [(each.subject.kind, each.subject.key) for each in sheet.lines if each.stands] == STANDS
    assert [each.subject.key for each in sheet.asked] == ["C3", "C4", "C5"]
    assert (sheet.todo, sheet.others, sheet.begun_beside_another) == (3, 0, False)
    ahead = sheet.next_todo()
    assert ahead is not None
    assert (ahead.subject.key, ahead.blocked_by) == ("C3", None)
    score_all(attempt, getattr(yard, who), C1=None, C2=None, fit=None)
    assert score_sheet(attempt, getattr(yard, who)).todo == 0


def test_the_desk_shows_what_stands_and_leads_away_from_it(made: tuple[Yard, Attempt]) -> None:
    yard, attempt = made
    client = browser(yard.instructor)
    page = client.get(reverse("attempt_score", args=[attempt.pk]))
    assert text(page).count("✓ Stands") == 3
    for kind, key in STANDS:
        address = reverse("attempt_score_subject", args=[attempt.pk, kind, key])
        assert address not in page.content.decode()
        for answer in (client.get(address), client.post(address, {"level": "2"})):
            assert (answer.status_code, answer["Location"]) == (
                302,
                reverse("attempt_score", args=[attempt.pk]),
            )
    first_asked = reverse("attempt_score_subject", args=[attempt.pk, "criterion", "C3"])
    shown = client.get(first_asked)
    assert "1 of 3" in text(shown)
    assert reverse("attempt_score_subject", args=[attempt.pk, "hold_point", "fit"]) not in (
        shown.content.decode()
    )
    assert attempt.observations.count() == 3


def test_a_score_of_what_stands_is_refused_in_words(made: tuple[Yard, Attempt]) -> None:
    yard, attempt = made
    with pytest.raises(Refused, match="stands from the attempt before"):
        record_observation(actor=yard.lead, event=event(attempt, "C1", {"level": 0}))
    row = attempt.observations.get(subject_key="C1")
    with pytest.raises(Refused, match="stands from the attempt before"):
        record_observation(
            actor=yard.instructor, event=event(attempt, "C1", {"level": 0}, replaces=str(row.pk))
        )
    assert attempt.observations.count() == 3


def test_a_device_is_told_what_stands_and_what_comes_all_the_same_is_kept_aside(
    made: tuple[Yard, Attempt],
) -> None:
    yard, attempt = made
    pack = take_pack(actor=yard.instructor, run=yard.run, device=uuid.uuid4())
    (trainee,) = pack_document(pack)["trainees"]
    assert trainee["attempt"] == str(attempt.pk)
    assert trainee["stands"] == ["criterion:C1", "criterion:C2", "hold_point:fit"]
    assert (trainee["current"], trainee["accepted"]) == ({}, [])
    base = {"device": str(pack.device), "epoch": str(uuid.uuid4())}
    sent = [
        event(attempt, "C3", GOOD["C3"], **base, seq=1),
        event(attempt, "C1", {"level": 0}, **base, seq=2),
    ]
    results = receive(pack, sent)
    assert [(each.result, each.reason) for each in results] == [
        ("stored", None),
        # This assessor's own score stands there, taken over from the attempt before.
        ("aside", "scored_already"),
    ]
    assert SetAside.objects.get().event_id == sent[1]["id"]
    assert attempt.observations.filter(subject_key="C1").count() == 1


def test_of_another_assessor_a_score_of_what_stands_is_kept_aside_with_its_reason(
    made: tuple[Yard, Attempt],
) -> None:
    yard, attempt = made
    pack = take_pack(actor=yard.lead, run=yard.run, device=uuid.uuid4())
    base = {"device": str(pack.device), "epoch": str(uuid.uuid4())}
    (result,) = receive(pack, [event(attempt, "C1", {"level": 0}, **base, seq=1)])
    assert (result.result, result.reason) == ("aside", "stage_stands")
    assert "not scored again" in (result.sentence or "")


def test_paper_leaves_no_room_for_what_stands(made: tuple[Yard, Attempt]) -> None:
    yard, attempt = made
    sheet = printed_sheet(yard.enrolment)
    assert sheet is not None
    assert [(part.stage.key, part.stands) for part in sheet.stages] == [
        ("fit", True),
        ("set", False),
    ]
    # The numbers stay those of the standard: keying in goes by them.
    assert [row.number for row in sheet.stages[1].rows] == [4, 5, 6]
    keyed = browser(yard.instructor).get(reverse("attempt_paper", args=[attempt.pk]))
    shown = keyed.content.decode()
    assert 'id="criterion-C3"' in shown
    assert 'id="criterion-C1"' not in shown
    assert 'id="hold_point-fit"' not in shown


def test_the_sheet_of_a_first_attempt_has_room_for_everything() -> None:
    yard, first = failed_yard()
    sheet = printed_sheet(yard.enrolment)
    assert sheet is not None
    assert not any(part.stands for part in sheet.stages)
    assert not any(line.stands for line in score_sheet(first, yard.instructor).lines)
