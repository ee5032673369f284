"""The places of a run and its waiting list."""

from datetime import timedelta
from typing import Any

import pytest
from django.core.exceptions import PermissionDenied
from pytest_django import DjangoCaptureOnCommitCallbacks

from assessments.actions.attempts import start_attempt
from assessments.queries.attempts import standings
from assessments.queries.task_sheet import own_sheets
from tests.training.calendar.planning import planned, signed_in
from tests.training.yard import Yard
from training.actions.enrolfile import FileRefused, enrol_file
from training.actions.enrolments import enrol_person, withdraw_enrolment
from training.actions.publishing import publish_calendar
from training.actions.runs import add_instructor
from training.actions.waiting import put_first, set_capacity
from training.errors import Refused
from training.models import Enrolment, LogEntry, Role
from training.queries.calendar import participants, sessions_of_person
from training.queries.my_sessions import own_waiting
from training.queries.runs import run_rows
from training.queries.waiting import places_in_row, places_of, waiting_list

pytestmark = pytest.mark.django_db
Callbacks = DjangoCaptureOnCommitCallbacks


def add(yard: Yard, name: str) -> Enrolment:
    """Enrol somebody of this name."""
    email = f"{name.lower()}@example.org"
    return enrol_person(actor=yard.lead, run=yard.run, full_name=name, email=email)


@pytest.fixture
def full(yard: Yard) -> Yard:
    """Return a yard whose run has one place, which the trainee has."""
    set_capacity(actor=yard.lead, run=yard.run, capacity=1)
    return yard


def names(yard: Yard) -> list[str]:
    """Return who waits, in order."""
    return [each.person.full_name for each in waiting_list(yard.run)]


def test_beyond_the_capacity_people_wait_in_order(full: Yard) -> None:
    made = [add(full, name) for name in ("Berit", "Anouk", "Calder")]
    assert {each.state for each in made} == {"waiting"}
    assert names(full) == ["Berit", "Anouk", "Calder"]
    rows = places_in_row(full.run.enrolments.all())
    assert [rows[each.pk] for each in made] == [1, 2, 3]
    assert [own_waiting(each.person)[0].place for each in made] == [1, 2, 3]
    with pytest.raises(Refused, match="on the waiting list of this run already") as refused:
        add(full, "Anouk")
    assert refused.value.field == "email"


def test_a_withdrawal_moves_the_first_one_up_and_tells(
    full: Yard, mailoutbox: list[Any], django_capture_on_commit_callbacks: Callbacks
) -> None:
    first, _ = add(full, "Berit"), add(full, "Anouk")
    with django_capture_on_commit_callbacks(execute=True):
        withdraw_enrolment(actor=full.lead, enrolment=full.enrolment)
    first.refresh_from_db()
    assert first.state == "enrolled"
    assert names(full) == ["Anouk"]
    (sent,) = mailoutbox
    assert (sent.to, sent.subject) == (["berit@example.org"], "You have a place: Dutchman repair")
    assert "A place has become free and is yours" in sent.body
    assert LogEntry.objects.get(verb="enrolment.moved_up").subject_id == str(first.pk)


def test_leaving_the_list_moves_nobody_up(full: Yard, mailoutbox: list[Any]) -> None:
    first, _ = add(full, "Berit"), add(full, "Anouk")
    withdraw_enrolment(actor=full.lead, enrolment=first)
    assert names(full) == ["Anouk"]
    assert places_of(full.run).enrolled == 1


def test_whoever_comes_back_waits_at_the_end(full: Yard) -> None:
    add(full, "Berit")
    add(full, "Anouk")
    withdraw_enrolment(actor=full.lead, enrolment=full.enrolment)
    person = full.trainee
    again = enrol_person(
        actor=full.lead, run=full.run, full_name=person.full_name, email=person.email
    )
    assert again.pk == full.enrolment.pk
    add(full, "Calder")
    assert names(full) == ["Anouk", person.full_name, "Calder"]


def test_a_lead_puts_somebody_first(full: Yard) -> None:
    add(full, "Berit")
    last = add(full, "Anouk")
    since = last.enrolled_at
    with pytest.raises(PermissionDenied):
        put_first(actor=full.teacher, enrolment=last)
    put_first(actor=full.lead, enrolment=last)
    assert names(full) == ["Anouk", "Berit"]
    row = LogEntry.objects.get(verb="enrolment.put_first")
    assert row.data == {"waiting_since": since.isoformat()}
    for enrolment, words in (
        (last, "first on the waiting list already"),
        (full.enrolment, "is not on"),
    ):
        with pytest.raises(Refused, match=words):
            put_first(actor=full.lead, enrolment=enrolment)


def test_more_places_move_people_up_and_fewer_than_enrolled_are_refused(full: Yard) -> None:
    for name in ("Berit", "Anouk", "Calder"):
        add(full, name)
    set_capacity(actor=full.lead, run=full.run, capacity=3)
    assert names(full) == ["Calder"]
    with pytest.raises(Refused, match="3 are enrolled already") as refused:
        set_capacity(actor=full.lead, run=full.run, capacity=2)
    assert refused.value.field == "capacity"
    for wrong in (0, 10_001):
        with pytest.raises(Refused, match="Write a number"):
            set_capacity(actor=full.lead, run=full.run, capacity=wrong)
    set_capacity(actor=full.lead, run=full.run, capacity=None)
    assert names(full) == []
    with pytest.raises(PermissionDenied):
        set_capacity(actor=full.teacher, run=full.run, capacity=None)


def test_a_list_fills_the_places_in_its_order(full: Yard) -> None:
    set_capacity(actor=full.lead, run=full.run, capacity=3)
    text = "full_name,email,employer\n" + "".join(
        f"{name},{name.lower()}@example.org,\n" for name in ("Zora", "Anouk", "Berit", "Calder")
    )
    result = enrol_file(actor=full.lead, run=full.run, text=text)
    assert (result.enrolled, result.waiting) == (2, 2)
    assert names(full) == ["Berit", "Calder"]
    with pytest.raises(FileRefused) as refused:
        enrol_file(
            actor=full.lead,
            run=full.run,
            text=text.splitlines()[0] + "\nBerit,berit@example.org,\n",
        )
    assert "On the waiting list of this run already" in refused.value.faults[0].message


def test_waiting_is_nowhere_taken_for_enrolled(full: Yard) -> None:
    waiting = add(full, "Berit")
    person = waiting.person
    planned(full)
    assert person not in participants(full.run)
    assert list(sessions_of_person(person)) == []
    assert own_sheets(person) == []
    standing = {row.enrolment.pk: row for row in standings(full.run)}
    assert standing[full.enrolment.pk].may_start
    assert not standing[waiting.pk].may_start
    with pytest.raises(Refused, match="Berit is"):
        start_attempt(actor=full.teacher, enrolment=waiting)
    run = run_rows(full.lead).get(pk=full.run.pk)
    assert run.enrolled == 1  # type: ignore[attr-defined]
    Role.objects.create(person=person, organisation=full.provider, kind="instructor")
    with pytest.raises(Refused, match="waits for a place"):
        add_instructor(actor=full.lead, run=full.run, person=person)


def test_the_pages_tell_places_and_the_row(full: Yard) -> None:
    first, last = add(full, "Berit"), add(full, "Anouk")
    lead = signed_in(full.lead)
    page = lead.get(f"/runs/{full.run.pk}/").text
    assert "1 of 1 places, 2 on the waiting list" in page
    assert page.count("Take off the list") == 2
    answer = lead.post(f"/enrolments/{last.pk}/put-first/", follow=True)
    assert "Anouk is first on the waiting list." in answer.text
    wrong = lead.post(f"/runs/{full.run.pk}/places/", {"capacity": "many"})
    assert (wrong.status_code, "Write a whole number" in wrong.text) == (422, True)
    form = {"full_name": "Calder", "email": "calder@example.org"}
    said = lead.post(f"/runs/{full.run.pk}/enrol/", form, follow=True)
    assert "Every place is taken: Calder is on the waiting list." in said.text
    mine = signed_in(first.person).get("/my-sessions/").text
    assert "You are on the waiting list of Dutchman repair" in mine
    assert "Place 2 in the row" in mine


def test_moving_up_brings_the_invitations_and_leaving_takes_them_back(
    full: Yard,
    mailoutbox: list[Any],
    django_capture_on_commit_callbacks: Callbacks,
    monkeypatch: Any,
) -> None:
    session = planned(full)
    publish_calendar(actor=full.lead, run=full.run)
    add(full, "Berit")
    before = session.starts_at - timedelta(days=1)
    monkeypatch.setattr("django.utils.timezone.now", lambda: before)
    with django_capture_on_commit_callbacks(execute=True):
        withdraw_enrolment(actor=full.lead, enrolment=full.enrolment)
    told = {(sent.to[0], sent.subject.split(":")[0]) for sent in mailoutbox}
    assert told == {
        (full.trainee.email, "Cancelled"),
        ("berit@example.org", "You have a place"),
        ("berit@example.org", "Invitation"),
    }
    session.refresh_from_db()
    assert session.sequence == 1
