"""The evidence file: each subject says what is held and what is missing, with a way to mend it."""

import re
from datetime import timedelta

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone
from page import validate_pdf_bytes

from assessments.evaluation.file import Entry, Held, evidence_file_of, facts
from assessments.evaluation.file.subjects import SUBJECTS
from tests.assessments.builders import Yard, make_yard
from tests.assessments.evaluation.builders import (
    another_run,
    answered,
    decided_on,
    practice_session,
    present,
)
from tests.certificates.pdf.tools import text_of
from tests.factories import enrol, make_organisation, make_person, make_program, make_role
from training.actions.changes import decide_change
from training.actions.complaints import make_complaint
from training.models import (
    Complaint,
    HeldDocument,
    Outcome,
    Person,
    Program,
    ProgramPrerequisite,
    Role,
)

pytestmark = pytest.mark.django_db


def browser(person: Person) -> Client:
    client = Client()
    client.force_login(person, backend="django.contrib.auth.backends.ModelBackend")
    return client


def entries(program: Program) -> dict[str, Entry]:
    return {each.subject.key: each for each in evidence_file_of(program)}


def said(entry: Entry) -> str:
    return " ".join([each.text for each in entry.held] + [each.text for each in entry.lacking])


def qualified(yard: Yard, **fields: object) -> HeldDocument:
    values: dict[str, object] = {
        "kind": "instructor",
        "title": "Master mason",
        "issuer": "A guild",
        "issued_on": timezone.localdate() - timedelta(days=400),
        "expires_on": None,
    }
    return HeldDocument.objects.create(
        person=yard.instructor, provider=yard.provider, seen_by=yard.lead, **{**values, **fields}
    )


def test_twenty_and_more_subjects_each_once_in_own_words() -> None:
    keys = [each.key for each in SUBJECTS]
    assert len(keys) == len(set(keys)) >= 20
    assert all(each.title and each.asks.endswith(".") for each in SUBJECTS)


def test_an_empty_program_says_what_to_do_at_each_subject() -> None:
    provider = make_organisation()
    make_role(Role.Kind.LEAD, provider)
    found = entries(make_program(provider))
    assert list(found) == [each.key for each in SUBJECTS]
    missing = {key for key, entry in found.items() if entry.state == "missing"}
    assert missing == {
        *("needs", "plan", "outcomes", "prerequisites", "design", "instructors", "materials"),
        *("delivery", "method", "standard", "reliability", "integrity", "certificate"),
        *("validity", "privacy", "evaluation"),
        *("fairness",),
    }
    for key in missing - {"privacy", "fairness"}:
        assert any(fact.url and fact.label for fact in found[key].lacking), key
    assert all(entry.held or entry.lacking for entry in found.values())


def test_what_is_written_turns_missing_into_held() -> None:
    yard = make_yard()
    program = yard.program
    program.needs, program.purpose, program.scope = "Few can do it.", "To teach it.", "Sandstone."
    program.save()
    outcome = Outcome.objects.create(
        program=program, position=1, key="O1", statement="Sets a dutchman"
    )
    ProgramPrerequisite.objects.create(
        program=program,
        position=1,
        key="rail",
        title="Scaffold user",
        applies="practical",
        accepts="A card",
        source="Invented",
    )
    practice_session(yard, yard.run)
    untaught = entries(program)
    assert untaught["design"].state == "partly"
    assert "No module serves O1" in said(untaught["design"])
    program.modules.get().outcomes.add(outcome)
    found = entries(program)
    for key in ("needs", "plan", "outcomes", "prerequisites", "design", "method", "versions"):
        assert found[key].state == "held", key
    assert "Few can do it." in said(found["needs"])


def test_a_lapsed_qualification_is_none() -> None:
    yard = make_yard()
    assert entries(yard.program)["instructors"].state == "missing"
    assert str(yard.instructor) in said(entries(yard.program)["instructors"])
    lapsed = qualified(yard, expires_on=timezone.localdate() - timedelta(days=1))
    assert entries(yard.program)["instructors"].state == "missing"
    qualified(yard, expires_on=timezone.localdate(), title="First aid of the wall")
    assert entries(yard.program)["instructors"].state == "held"
    assert lapsed.expires_on is not None


def test_runs_tell_of_delivery_answers_and_changes() -> None:
    yard = make_yard()
    run = another_run(yard)
    session = practice_session(yard, run)
    session.starts_at = timezone.now() - timedelta(days=2)
    session.ends_at = session.starts_at + timedelta(hours=2)
    session.save()
    before = entries(yard.program)
    assert "nobody's presence is noted in 1 session" in said(before["delivery"])
    assert before["evaluation"].state == "missing"
    assert "nobody has answered" in said(before["evaluation"])
    enrolment = enrol(run, make_person())
    present(yard, session, enrolment, 60)
    answered(enrolment, 4)
    today = timezone.localdate()
    decide_change(
        actor=yard.lead, program=yard.program, text="More", grounds="O1", decided_on=today
    )
    after = entries(yard.program)
    assert "1 session held, presence noted in 1." in said(after["delivery"])
    assert "Trainees answered about 1 of" in said(after["evaluation"])
    assert "1 change decided on grounds, 0 done." in said(after["evaluation"])


def test_an_old_complaint_is_missing_its_answer() -> None:
    yard = make_yard()
    made = make_complaint(actor=yard.trainee, run=yard.run, text="No rail.")
    assert entries(yard.program)["complaints"].state == "held"
    Complaint.objects.filter(pk=made.pk).update(made_at=made.made_at - timedelta(days=31))
    assert entries(yard.program)["complaints"].state == "partly"


def test_a_met_decision_without_a_record_is_told_by_the_app_of_records() -> None:
    yard = make_yard()
    assert "nobody has met" in said(entries(yard.program)["certificate"])
    decided_on(yard, yard.run)
    found = entries(yard.program)
    assert "1 trainee met the standard and no record is issued yet." in said(found["certificate"])
    assert "1 attempt began under it" in said(found["method"])


def test_a_fact_about_no_subject_is_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    yard = make_yard()
    monkeypatch.setattr(facts, "_sources", [lambda program: [Held("weather", "Fine.")]])
    with pytest.raises(ValueError, match="no subject 'weather'"):
        evidence_file_of(yard.program)


def test_every_link_of_the_page_leads_somewhere() -> None:
    yard = make_yard()
    decided_on(yard, yard.run)
    another_run(yard)
    client = browser(yard.lead)
    page = client.get(reverse("evidence_file", args=[yard.program.pk])).content.decode()
    body = page.partition("<tbody>")[2].partition("</tbody>")[0]
    links = set(re.findall(r'href="([^"]+)"', body))
    assert len(links) > 8
    codes = {link: client.get(link, follow=True).status_code for link in links}
    assert {link: code for link, code in codes.items() if code != 200} == {}
    for word in ("Held", "Partly held", "Missing"):
        assert f"<span>{word}</span>" in page
    assert "style=" not in page


def test_the_pdf_is_tagged_and_quotes_no_clause() -> None:
    yard = make_yard()
    response = browser(yard.lead).get(reverse("evidence_file_pdf", args=[yard.program.pk]))
    assert response["Content-Type"] == "application/pdf"
    assert not validate_pdf_bytes(response.content, profile="ua1").failures
    text = " ".join(text_of(response.content).split())
    for subject in SUBJECTS:
        assert subject.title in text
    assert "Clause in your copy" in text
    assert not re.search(r"\b[0-9]+\.[0-9]+\.[0-9]+\b", text)


def test_queries_do_not_grow_with_runs_and_people() -> None:
    def asked(yard: Yard) -> int:
        with CaptureQueriesContext(connection) as queries:
            evidence_file_of(yard.program)
        return len(queries)

    yard = make_yard()
    qualified(yard)
    present(yard, practice_session(yard, yard.run), decided_on(yard, yard.run).enrolment, 60)
    one = asked(yard)
    for _ in range(2):
        run = another_run(yard)
        teacher = make_role(Role.Kind.INSTRUCTOR, yard.provider)
        run.instructors.add(teacher)
        present(yard, practice_session(yard, run), decided_on(yard, run).enrolment, 60)
    assert asked(yard) == one
