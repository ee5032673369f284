"""Who is named and who is seen in a report: only those whose newest answer is a consent."""

import json

import pytest

from assessments.queries.trainingreport import desk_of, report_document
from assessments.trainingreport import work
from assessments.trainingreport.work import MayDo
from tests.assessments.builders import Yard, make_yard
from tests.assessments.trainingreport.builders import (
    agree,
    decided,
    part,
    photograph,
    shown,
    taught,
)
from training.models import Consent, Enrolment

pytestmark = pytest.mark.django_db
NAME, PICTURE = Consent.Kind.NAME_IN_REPORTS, Consent.Kind.PHOTOGRAPHS


@pytest.fixture
def yard() -> Yard:
    return make_yard()


def test_nobody_is_named_who_was_not_asked(yard: Yard) -> None:
    other = decided(yard).attempt.enrolment.person
    taught(yard, yard.trainee)
    text = json.dumps(report_document(yard.run))
    for person in (yard.trainee, yard.instructor, yard.lead, other):
        assert person.full_name not in text
    assert [row["name"] for row in part(yard, "results")["people"]] == ["Trainee 1", "Trainee 2"]


def test_who_agreed_is_named_and_the_others_keep_their_number(yard: Yard) -> None:
    other = decided(yard).attempt.enrolment.person
    agree(yard, yard.trainee, NAME)
    agree(yard, yard.instructor, NAME)
    names = [row["name"] for row in part(yard, "results")["people"]]
    assert names == [yard.trainee.full_name, "Trainee 2"]
    assert other.full_name not in json.dumps(report_document(yard.run))
    assert part(yard, "site")["instructors"] == [yard.instructor.full_name]


def test_a_consent_taken_back_counts_no_longer(yard: Yard) -> None:
    agree(yard, yard.trainee, NAME)
    agree(yard, yard.trainee, NAME, given=False)
    assert part(yard, "results")["people"][0]["name"] == "Trainee 1"


def test_a_consent_to_another_provider_names_nobody(yard: Yard) -> None:
    agree(make_yard(), yard.trainee, NAME)
    assert part(yard, "results")["people"][0]["name"] == "Trainee 1"


def test_a_photograph_with_people_needs_everybody_of_the_run(yard: Yard) -> None:
    bare, people = photograph(yard), photograph(yard, people=True)
    desk = desk_of(yard.run)
    assert [key for key, _ in shown(yard)] == [f"log-{bare.pk}"]
    assert desk.left_out == 1
    assert list(desk.people.unseen) == sorted([yard.instructor.full_name, yard.trainee.full_name])
    agree(yard, yard.instructor, PICTURE)
    assert [key for key, _ in shown(yard)] == [f"log-{bare.pk}"]
    agree(yard, yard.trainee, PICTURE)
    assert [key for key, _ in shown(yard)] == [f"log-{bare.pk}", f"log-{people.pk}"]
    agree(yard, yard.trainee, PICTURE, given=False)
    assert [key for key, _ in shown(yard)] == [f"log-{bare.pk}"]


def test_who_withdrew_can_still_be_seen_and_is_asked(yard: Yard) -> None:
    photograph(yard, people=True)
    agree(yard, yard.instructor, PICTURE)
    Enrolment.objects.update(state=Enrolment.State.WITHDRAWN)
    assert shown(yard) == []


def test_the_number_of_a_record_is_told_with_the_name_alone(
    yard: Yard, monkeypatch: pytest.MonkeyPatch
) -> None:
    record = MayDo(yard.trainee.pk, "7K3M-Q9WD-2XRA-58TN", "2026-11-10", "Current", True, "")
    monkeypatch.setattr(work, "_sources", [lambda run: [record]])
    (row,) = part(yard, "work")["records"]
    assert (row["name"], row["number"]) == ("Trainee 1", "")
    agree(yard, yard.trainee, NAME)
    (row,) = part(yard, "work")["records"]
    assert (row["name"], row["number"]) == (yard.trainee.full_name, record.number)
