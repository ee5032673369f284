"""The pages of calibration: what stands on them, what they keep hidden, what goes wrong on them."""

from collections.abc import Mapping
from fractions import Fraction
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from assessments.actions.calibration import start_sitting
from assessments.models import (
    AssessorRequirement,
    Authorisation,
    CalibrationScore,
    CalibrationSitting,
    ReferencePiece,
)
from tests.assessments.builders import Yard, make_yard
from tests.assessments.calibration.builders import (
    AGREED,
    ask,
    authorised,
    make_piece,
    score,
    sit,
)
from training.dates import months_later
from training.models import Person

pytestmark = pytest.mark.django_db
ASKED = {"pieces": "2", "months": "12", "exact": "4/5", "bias": "10 %"}
PIECE = {
    "title": "Sill stone B",
    "description": "On the bench.",
    "agreed_by": "Three instructors, 2 Nov 2026",
}
ENTERED = {
    "C1-level": "1",
    "C2-reading_0": '1/8"',
    "C2-reading_1": "1/8",
    "C3-answer": "yes",
    "C4-count": "0",
    "C5-start": "2026-11-03T09:00:00",
    "C5-end": "2026-11-03T09:20:00",
}


def signed_in(person: Person) -> Client:
    client = Client()
    client.force_login(person, backend="django.contrib.auth.backends.ModelBackend")
    return client


def get(person: Person, name: str, *args: object, status: int = 200) -> str:
    response = signed_in(person).get(reverse(name, args=args))
    assert response.status_code == status
    return response.content.decode()


def post(
    person: Person, name: str, *args: object, status: Any = 302, **sent: Any
) -> tuple[str, str]:
    """Return the page, and the messages on the next one."""
    client = signed_in(person)
    response = client.post(reverse(name, args=args), sent)
    assert response.status_code == status, response.content.decode()
    after = client.get(response["Location"]).content.decode() if status == 302 else ""
    return response.content.decode(), after


def new_piece(yard: Yard, status: Any = 302, **changes: str) -> str:
    sent: Mapping[str, str] = {**PIECE, **ENTERED, **changes}
    return post(yard.lead, "reference_new", yard.program.pk, status=status, **sent)[0]


def test_a_lead_sets_what_is_asked() -> None:
    yard = make_yard()
    assert "Nothing is asked so far" in get(yard.lead, "assessors", yard.program.pk)
    _, after = post(yard.lead, "assessors", yard.program.pk, **ASKED)
    assert "2 reference pieces scored within 12 months, at least 80 % of their criteria" in after
    requirement = AssessorRequirement.objects.get()
    assert (requirement.pieces, requirement.months) == (2, 12)
    assert (Fraction(requirement.exact), requirement.bias) == (Fraction(4, 5), "0.1")


@pytest.mark.parametrize(
    ("field", "value", "said"),
    [
        ("pieces", "0", "Write a whole number from 1 to 50."),
        ("months", "a year", "Write a whole number from 1 to 120."),
        ("exact", "0.8", "Write the percent sign: 0.8 %, or a fraction such as 2/3."),
        ("exact", "120 %", "Write a percentage from 0 % to 100 %."),
        ("bias", "", "Write a percentage such as 80 %, or a fraction such as 4/5."),
    ],
)
def test_what_cannot_be_asked_is_told_and_kept(field: str, value: str, said: str) -> None:
    yard = make_yard()
    sent = {**ASKED, field: value}
    page, _ = post(yard.lead, "assessors", yard.program.pk, status=422, **sent)
    assert said in page
    for kept in sent.values():
        assert f'value="{kept}"' in page or not kept
    assert not AssessorRequirement.objects.exists()


def test_a_lead_adds_a_piece_and_leaves_criteria_out() -> None:
    yard = make_yard()
    new_piece(yard, **{"C1-left_out": "on", "C5-start": "", "C5-end": ""})
    piece = ReferencePiece.objects.get()
    assert list(piece.agreed) == ["C2", "C3", "C4"]
    assert piece.agreed["C2"] == AGREED["C2"] | {
        "readings": [
            {"typed": '1/8"', "value": "1/8", "unit": "in"},
            {"typed": "1/8", "value": "1/8", "unit": "in"},
        ]
    }
    assert piece.agreed["C4"] == {"count": 0}


def test_every_fault_of_a_new_piece_is_shown_at_once_and_nothing_is_lost() -> None:
    yard = make_yard()
    page = new_piece(
        yard, status=422, title="", **{"C2-reading_1": "wide", "C4-count": "some", "C5-end": ""}
    )
    assert "Write a title" in page
    assert "Write a whole number, such as 0 or 3." in page
    assert 'href="#agreed-C2"' in page
    assert 'href="#agreed-C1"' not in page
    for kept in ("wide", "some", "On the bench.", "2026-11-03T09:00:00"):
        assert kept in page
    # A time without its end is read, and the action says at its criterion that it is not whole.
    page = new_piece(yard, status=422, **{"C5-end": ""})
    assert 'href="#agreed-C5"' in page
    assert "enter the whole score, or leave it out" in page
    page = new_piece(yard, status=422, **dict.fromkeys(ENTERED, ""))
    assert "Enter the agreed score of at least one criterion." in page
    assert not ReferencePiece.objects.exists()


def test_a_piece_is_changed_until_somebody_begins() -> None:
    yard = make_yard()
    piece = make_piece(yard)
    page = get(yard.lead, "reference", piece.pk)
    assert "Three instructors, 2 Nov 2026" in page
    assert 'name="C1-level"' in page
    post(yard.lead, "reference", piece.pk, **{**PIECE, **ENTERED, "C1-level": "2"})
    piece.refresh_from_db()
    assert (piece.title, piece.agreed["C1"]) == ("Sill stone B", {"level": 2})
    start_sitting(actor=yard.instructor, piece=piece)
    page = get(yard.lead, "reference", piece.pk)
    assert "its agreed scores stay" in page
    assert 'name="C1-level"' not in page
    post(yard.lead, "reference", piece.pk, title="Sill stone C", description="There.")
    piece.refresh_from_db()
    assert (piece.title, piece.agreed["C1"]) == ("Sill stone C", {"level": 2})
    post(yard.lead, "reference_retire", piece.pk)
    assert "Retired on" in get(yard.lead, "reference", piece.pk)


def test_without_a_sealed_standard_the_page_says_what_to_do() -> None:
    yard = make_yard()
    other = type(yard.program).objects.create(
        provider=yard.provider, code="NEW", title="New", unit="in"
    )
    assert "No standard is sealed" in get(yard.lead, "reference_new", other.pk)


def test_a_sitting_on_the_pages_from_end_to_end() -> None:
    yard = make_yard()
    piece = make_piece(yard)
    assert "Score it" in get(yard.instructor, "calibration")
    post(yard.instructor, "sitting_start", piece.pk)
    sitting = CalibrationSitting.objects.get()
    assert "Go on" in get(yard.instructor, "calibration")
    entered = {key.partition("-")[2]: (key[:2], value) for key, value in ENTERED.items()}
    for key in AGREED:
        page = get(yard.instructor, "sitting_criterion", sitting.pk, key)
        assert f"Criterion {key}" in page
        sent = {name: value for name, (of, value) in entered.items() if of == key}
        mark = page.split('name="observation_id" value="')[1].split('"')[0]
        _, after = post(
            yard.instructor,
            "sitting_criterion",
            sitting.pk,
            key,
            observation_id=mark,
            **({**sent, "level": "2"} if key == "C1" else sent),
        )
        assert "Met" in after
        assert CalibrationScore.objects.filter(pk=mark, criterion=key).exists()
    assert "Finish, and see the agreed scores" in get(yard.instructor, "sitting", sitting.pk)
    _, after = post(yard.instructor, "sitting_finish", sitting.pk)
    assert "4 of 5" in after
    assert "+10 %" in after
    assert "50 % of the scale above the agreed score." in after
    assert "Compared with the agreed scores" in after
    page, after = post(yard.instructor, "sitting_criterion", sitting.pk, "C1", level="1")
    assert "This sitting is finished" in after


def test_nothing_agreed_is_shown_before_the_end() -> None:
    yard = make_yard()
    piece = make_piece(yard, C1={"level": 0})
    sitting = start_sitting(actor=yard.instructor, piece=piece)
    shown = get(yard.instructor, "sitting", sitting.pk) + get(yard.instructor, "calibration")
    for key in AGREED:
        shown += get(yard.instructor, "sitting_criterion", sitting.pk, key)
    assert "Three instructors" not in shown
    assert 'aria-pressed="true"' not in shown
    assert "Level 0" not in shown
    score(sitting)
    post(yard.instructor, "sitting_finish", sitting.pk)
    assert "Three instructors" in get(yard.instructor, "sitting", sitting.pk)
    # The lead reads it too, and nobody else.
    assert "Level 0" in get(yard.lead, "sitting", sitting.pk)
    get(yard.trainee, "sitting", sitting.pk, status=404)


def test_a_wrong_score_is_told_and_kept() -> None:
    yard = make_yard()
    sitting = start_sitting(actor=yard.instructor, piece=make_piece(yard))
    page, _ = post(
        yard.instructor, "sitting_criterion", sitting.pk, "C4", status=422, count="plenty"
    )
    assert "Write a whole number, such as 0 or 3." in page
    assert 'value="plenty"' in page
    get(yard.instructor, "sitting_criterion", sitting.pk, "C9", status=404)
    _, after = post(yard.instructor, "sitting_finish", sitting.pk)
    assert "Still to score: Criterion C1" in after


def test_a_piece_scored_already_is_told() -> None:
    yard = make_yard()
    piece = make_piece(yard)
    sit(yard.instructor, piece)
    _, after = post(yard.instructor, "sitting_start", piece.pk)
    assert "saw the agreed scores" in after


def test_a_lead_authorises_and_withdraws() -> None:
    yard = make_yard()
    ask(yard)
    place = (yard.program.pk, yard.instructor.pk)
    page = get(yard.lead, "assessors", yard.program.pk)
    assert "0 of 1 reference piece scored within 12 months: 1 more is needed." in page
    _, after = post(yard.lead, "assessor", *place, authorise="yes")
    assert "cannot be authorised yet" in after
    sit(yard.instructor, make_piece(yard))
    assert 'name="authorise"' in get(yard.lead, "assessors", yard.program.pk)
    _, after = post(yard.lead, "assessor", *place, authorise="yes")
    until = months_later(timezone.localdate(), 12)
    assert f"may sign off until {until:%d %b %Y}, that day included" in after
    assert 'name="authorise"' not in after
    page, _ = post(yard.lead, "assessor", *place, status=422, withdraw="yes", reason="")
    assert "Write why. The assessor reads it." in page
    _, after = post(yard.lead, "assessor", *place, withdraw="yes", reason="Apart on joints.")
    assert "Apart on joints." in after
    assert Authorisation.objects.filter(granted=False).exists()
    assert "Apart on joints." in get(yard.instructor, "calibration")
    assert "You may score, and not sign off." in get(yard.instructor, "calibration")


def test_a_lead_does_not_see_keys_for_the_own_authority() -> None:
    yard = make_yard()
    ask(yard)
    sit(yard.lead, make_piece(yard))
    assert 'name="authorise"' not in get(yard.lead, "assessors", yard.program.pk)
    page = get(yard.lead, "assessor", yard.program.pk, yard.lead.pk)
    assert "Nobody decides on the own authority" in page
    assert 'name="authorise"' not in page


def test_who_has_nothing_to_do_with_it_is_no_assessor() -> None:
    yard = make_yard()
    get(yard.lead, "assessor", yard.program.pk, yard.trainee.pk, status=404)
    page = get(yard.lead, "assessors", yard.program.pk)
    assert str(yard.instructor) in page
    assert str(yard.trainee) not in page
    # Who taught once and is authorised stays on the list.
    authorised(yard, yard.instructor, timezone.localdate())
    ask(yard)
    yard.run.instructors.clear()
    assert "no longer leads or teaches" in get(yard.lead, "assessors", yard.program.pk)


def test_an_assessor_without_pieces_is_told() -> None:
    yard = make_yard()
    assert "Nothing is asked of you" in get(yard.instructor, "calibration")
    ask(yard)
    assert "No reference piece yet" in get(yard.instructor, "calibration")
