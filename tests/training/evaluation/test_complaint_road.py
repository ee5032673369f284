"""Whom a complaint concerns neither sees, answers nor learns of it; and who hears it then."""

from typing import Any

import pytest
from django.core import mail
from django.core.exceptions import PermissionDenied
from django.db import IntegrityError, transaction
from django.urls import reverse

from assessments.evaluation.data import evaluation_of
from assessments.evaluation.file import review_facts
from tests.factories import make_person, make_role
from tests.training.evaluation.test_complaints_and_changes import browser, run_with_people
from training.actions.complaints import answer_complaint, make_complaint
from training.actions.outside_contact import name_outside_contact
from training.errors import Refused
from training.models import Complaint, CourseRun, LogEntry, Organisation, Person, Role
from training.queries.complaints import (
    answerers_of,
    complaints_to_answer,
    complaints_visible_to,
    may_be_concerned,
)

pytestmark = pytest.mark.django_db
LEAD = frozenset({Role.Kind.LEAD})
WORDS = "He shouted at us on the scaffold."


def about(trainee: Person, run: CourseRun, whom: Person, kind: str = "conduct") -> Complaint:
    return make_complaint(actor=trainee, run=run, text=WORDS, kind=kind, concerns=whom)


def test_whom_it_concerns_meets_it_nowhere(django_capture_on_commit_callbacks: Any) -> None:
    run, lead, _, trainee = run_with_people()
    other = make_role(Role.Kind.LEAD, run.program.provider)
    with django_capture_on_commit_callbacks(execute=True):
        made = about(trainee, run, lead, kind="safety")
    address = reverse("complaint", args=[made.pk])
    assert list(complaints_visible_to(lead)) == []
    assert list(complaints_to_answer(lead, LEAD)) == []
    for name in ("home", "complaint_list"):
        page = browser(lead).get(reverse(name))
        assert address not in page.text
        assert "shouted" not in page.text
    assert browser(lead).get(address).status_code == 404
    assert browser(lead).post(address, {"answer": "No."}).status_code == 404
    with pytest.raises(PermissionDenied):
        answer_complaint(actor=lead, complaint=made, answer="It was not so.")
    # Written to at once, for it is about safety: the other lead alone.
    assert [letter.to for letter in mail.outbox] == [[other.email]]
    # The log does not name whom it concerns, and counts that every lead reads leave it out.
    entry = LogEntry.objects.get(verb="complaint.made")
    assert str(lead.pk) not in {str(value) for value in entry.data.values()}
    assert evaluation_of(run.program, leads=True).complaints == []
    told = [fact.text for fact in review_facts.complaints(run.program)]
    assert "0 complaints so far" in told[0]
    # The others see and answer it.
    assert list(complaints_visible_to(other)) == [made]
    (todo,) = complaints_to_answer(other, LEAD)
    assert todo.url == address
    with django_capture_on_commit_callbacks(execute=True):
        answer_complaint(actor=other, complaint=made, answer="We spoke with him.")
    assert [letter.to for letter in mail.outbox[1:]] == [[trainee.email]]
    assert address in mail.outbox[1].body
    assert lead.email not in str([letter.recipients() for letter in mail.outbox])


def test_the_database_refuses_an_answer_by_whom_it_concerns() -> None:
    run, lead, _, trainee = run_with_people()
    made = about(trainee, run, lead)
    made.state, made.answer, made.answered_by = "answered", "No.", lead
    made.answered_at = made.made_at
    with (
        pytest.raises(IntegrityError, match="complaint_not_answered_by_concerned"),
        transaction.atomic(),
    ):
        made.save()


def test_a_complaint_about_an_instructor_reaches_every_lead_and_counts() -> None:
    run, lead, teacher, trainee = run_with_people()
    made = about(trainee, run, teacher)
    assert list(complaints_visible_to(lead)) == [made]
    assert list(complaints_visible_to(teacher)) == []
    assert evaluation_of(run.program, leads=True).complaints == [made]


def test_the_outside_contact_is_written_to_when_no_lead_is_left(
    django_capture_on_commit_callbacks: Any,
) -> None:
    run, lead, _, trainee = run_with_people()
    provider = run.program.provider
    with django_capture_on_commit_callbacks(execute=True):
        unheard = about(trainee, run, lead)
    assert mail.outbox == []
    page = browser(trainee).get(reverse("complaint", args=[unheard.pk]))
    assert "nobody outside is named" in page.text
    name_outside_contact(
        actor=lead, provider=provider, name='Óna "Bee" Tarn', email="ona@example.org"
    )
    with django_capture_on_commit_callbacks(execute=True):
        made = about(trainee, run, lead)
        assert mail.outbox == []
    (letter,) = mail.outbox
    assert letter.to == ["ona@example.org"]
    assert letter.reply_to == [trainee.email]
    assert letter.body.startswith("Óna 'Bee' Tarn,")
    for told in (WORDS, trainee.full_name, lead.full_name):
        assert told in letter.body
    assert not answerers_of(made).exists()
    page = browser(trainee).get(reverse("complaint", args=[made.pk]))
    assert "ona@example.org" in page.text
    # With another lead it stays inside.
    make_role(Role.Kind.LEAD, provider)
    with django_capture_on_commit_callbacks(execute=True):
        about(trainee, run, lead)
    assert len(mail.outbox) == 1


def test_a_complaint_names_leads_and_who_teaches_alone() -> None:
    run, lead, teacher, trainee = run_with_people()
    assert set(may_be_concerned(run, trainee)) == {lead, teacher}
    assert set(may_be_concerned(run, teacher)) == {lead}
    for wrong in (trainee, make_person()):
        with pytest.raises(Refused) as refused:
            about(trainee, run, wrong)
        assert refused.value.field == "concerns"
    with pytest.raises(Refused) as refused:
        make_complaint(actor=trainee, run=run, text=WORDS, kind="rumour")
    assert refused.value.field == "kind"
    assert not Complaint.objects.exists()


def test_the_form_says_what_to_do_and_keeps_what_was_entered() -> None:
    run, lead, teacher, trainee = run_with_people()
    address = reverse("complaint_new", args=[run.pk])
    page = browser(trainee).get(address)
    assert "Stop work" in page.text
    assert "authority" in page.text
    assert teacher.full_name in page.text
    sent = {"kind": "safety", "concerns": str(make_person().pk), "text": WORDS}
    wrong = browser(trainee).post(address, sent)
    assert wrong.status_code == 422
    assert WORDS in wrong.text
    assert "name the person in your own words" in wrong.text
    done = browser(trainee).post(address, {**sent, "concerns": str(teacher.pk)})
    made = Complaint.objects.get()
    assert (done.status_code, made.kind, made.concerns) == (302, "safety", teacher)
    assert "Stop work" in browser(lead).get(reverse("complaint", args=[made.pk])).text


@pytest.mark.parametrize(
    ("name", "email", "field"),
    [
        ("Ona", "", "email"),
        ("", "ona@example.org", "name"),
        ("Ona", "nowhere", "email"),
        ("Ona", "LEAD", "email"),
        ("x" * 300, "ona@example.org", "name"),
    ],
)
def test_an_outside_contact_needs_name_and_address(name: str, email: str, field: str) -> None:
    run, lead, teacher, _ = run_with_people()
    provider = run.program.provider
    with pytest.raises(Refused) as refused:
        name_outside_contact(
            actor=lead,
            provider=provider,
            name=name,
            email=lead.email.upper() if email == "LEAD" else email,
        )
    assert refused.value.field == field
    with pytest.raises(PermissionDenied):
        name_outside_contact(actor=teacher, provider=provider, name="O", email="o@example.org")


def test_the_page_of_the_outside_contact_keeps_and_clears_it() -> None:
    run, lead, _, _ = run_with_people()
    provider = run.program.provider
    address = reverse("outside_contact", args=[provider.pk])
    wrong = browser(lead).post(address, {"name": "Ona Tarn", "email": "nowhere"})
    assert wrong.status_code == 422
    assert "Ona Tarn" in wrong.text
    sent = {"name": "Ona Tarn", "email": "ona@example.org"}
    assert browser(lead).post(address, sent).status_code == 302
    assert "ona@example.org" in browser(lead).get(reverse("people")).text
    assert 'value="Ona Tarn"' in browser(lead).get(address).text
    browser(lead).post(address, {"name": "", "email": ""})
    assert Organisation.objects.get(pk=provider.pk).outside_contact == ""
