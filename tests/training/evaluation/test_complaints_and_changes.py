"""Complaints, which instructors do not see, and changes decided on grounds."""

from datetime import timedelta

import pytest
from django.core.exceptions import PermissionDenied
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from tests.factories import enrol, make_organisation, make_person, make_program, make_role, make_run
from training.actions.changes import decide_change, finish_change
from training.actions.complaints import answer_complaint, make_complaint
from training.errors import Refused
from training.models import Complaint, CourseRun, Person, ProgramChange, Role
from training.queries.changes import changes_of, changes_to_make
from training.queries.complaints import complaints_to_answer, complaints_visible_to

pytestmark = pytest.mark.django_db
LEAD = frozenset({Role.Kind.LEAD})


def run_with_people() -> tuple[CourseRun, Person, Person, Person]:
    """Return a run with its lead, instructor and a trainee."""
    provider = make_organisation()
    lead = make_role(Role.Kind.LEAD, provider)
    teacher = make_role(Role.Kind.INSTRUCTOR, provider)
    run = make_run(make_program(provider), instructors=(teacher,))
    return run, lead, teacher, enrol(run, make_person()).person


def browser(person: Person) -> Client:
    client = Client()
    client.force_login(person, backend="django.contrib.auth.backends.ModelBackend")
    return client


def test_a_complaint_reaches_leads_and_its_maker_alone() -> None:
    run, lead, teacher, trainee = run_with_people()
    made = make_complaint(actor=trainee, run=run, text="The bay had no rail on Tuesday.")
    for person, seen in ((lead, [made]), (trainee, [made]), (teacher, []), (make_person(), [])):
        assert list(complaints_visible_to(person)) == seen
        expected = 200 if seen else 404
        page = browser(person).get(reverse("complaint", args=[made.pk]))
        assert page.status_code == expected
    (todo,) = complaints_to_answer(lead, LEAD)
    assert todo.url == reverse("complaint", args=[made.pk])


def test_only_who_takes_part_complains() -> None:
    run, _, teacher, _ = run_with_people()
    with pytest.raises(PermissionDenied):
        make_complaint(actor=make_person(), run=run, text="Too loud.")
    address = reverse("complaint_new", args=[run.pk])
    assert browser(make_person()).get(address).status_code == 404
    sent = {"kind": "general", "text": "Too loud."}
    assert browser(teacher).post(address, sent).status_code == 302
    assert Complaint.objects.get().made_by == teacher


def test_a_lead_answers_once_and_never_an_own_complaint() -> None:
    run, lead, _, trainee = run_with_people()
    made = make_complaint(actor=trainee, run=run, text="No rail.")
    with pytest.raises(PermissionDenied):
        answer_complaint(actor=trainee, complaint=made, answer="Well.")
    answered = answer_complaint(actor=lead, complaint=made, answer="A rail was put up.")
    assert (answered.state, answered.answered_by) == (Complaint.State.ANSWERED, lead)
    assert list(complaints_to_answer(lead, LEAD)) == []
    with pytest.raises(Refused, match="already"):
        answer_complaint(actor=lead, complaint=made, answer="Once more.")
    own = make_complaint(actor=lead, run=run, text="No water.")
    with pytest.raises(Refused, match="another training lead"):
        answer_complaint(actor=lead, complaint=own, answer="Fine.")


def test_pages_of_a_complaint_keep_what_was_entered() -> None:
    run, lead, _, trainee = run_with_people()
    empty = browser(trainee).post(reverse("complaint_new", args=[run.pk]), {"text": "  "})
    assert (empty.status_code, Complaint.objects.count()) == (422, 0)
    assert "Write what happened" in empty.content.decode()
    made = make_complaint(actor=trainee, run=run, text="No rail.")
    address = reverse("complaint", args=[made.pk])
    long = "x" * 5001
    refused = browser(lead).post(address, {"answer": long})
    assert refused.status_code == 422
    assert long in refused.content.decode()
    assert browser(trainee).post(address, {"answer": "Mine"}).status_code == 403
    assert browser(lead).post(address, {"answer": "Put up."}).status_code == 302
    assert "Put up." in browser(trainee).get(address).content.decode()


def test_a_change_has_grounds_and_days_in_order() -> None:
    run, lead, teacher, _ = run_with_people()
    today = timezone.localdate()
    decided = {"actor": lead, "program": run.program, "text": "One more hour at the wall"}
    bad: list[tuple[str, dict[str, object]]] = [
        ("text", {"text": " ", "grounds": "O2", "decided_on": today}),
        ("grounds", {"grounds": " ", "decided_on": today}),
        ("decided_on", {"grounds": "O2", "decided_on": today + timedelta(days=1)}),
        (
            "due_on",
            {"grounds": "O2", "decided_on": today, "due_on": today - timedelta(days=1)},
        ),
    ]
    for field, changes in bad:
        with pytest.raises(Refused) as refused:
            decide_change(**{**decided, **changes})  # type: ignore[arg-type]
        assert refused.value.field == field
    with pytest.raises(PermissionDenied):
        decide_change(
            actor=teacher, program=run.program, text="More", grounds="O2", decided_on=today
        )
    assert not ProgramChange.objects.exists()


def test_a_due_change_waits_until_it_is_done() -> None:
    run, lead, _, _ = run_with_people()
    today = timezone.localdate()
    change = decide_change(
        actor=lead,
        program=run.program,
        text="One more hour at the wall",
        grounds="Outcome O2 was met by three of eight.",
        decided_on=today - timedelta(days=3),
        due_on=today,
    )
    (todo,) = changes_to_make(lead, LEAD)
    assert "One more hour" in todo.detail
    with pytest.raises(Refused) as refused:
        finish_change(actor=lead, change=change, done_on=today - timedelta(days=4))
    assert refused.value.field == "done_on"
    finish_change(actor=lead, change=change, done_on=today)
    assert list(changes_to_make(lead, LEAD)) == []
    with pytest.raises(Refused, match="already"):
        finish_change(actor=lead, change=change, done_on=today)


def test_the_page_lists_changes_of_every_version_and_adds_one() -> None:
    run, lead, teacher, trainee = run_with_people()
    first = run.program
    later = make_program(first.provider, code=first.code, version=2)
    address = reverse("program_changes", args=[later.pk])
    today = timezone.localdate().isoformat()
    sent = {"text": "Softer mortar", "grounds": "Answers of run 1", "decided_on": today}
    lacking = browser(lead).post(address, {**sent, "grounds": ""})
    assert lacking.status_code == 422
    assert "Softer mortar" in lacking.content.decode()
    old = reverse("program_changes", args=[first.pk])
    assert browser(lead).post(old, sent).status_code == 302
    assert [each.text for each in changes_of(later)] == ["Softer mortar"]
    assert "Softer mortar" in browser(lead).get(address).content.decode()
    assert browser(teacher).get(old).status_code == 200
    assert browser(teacher).post(old, sent).status_code == 403
    assert browser(trainee).get(old).status_code == 404
    done = reverse("change_done", args=[ProgramChange.objects.get().pk])
    assert browser(teacher).get(done).status_code == 403
    assert browser(lead).post(done, {"done_on": "soon"}).status_code == 422
    assert browser(lead).post(done, {"done_on": today}).status_code == 302
    assert ProgramChange.objects.get().done_on is not None
