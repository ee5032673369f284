"""Making evidence reports: who may, when, and that nothing changes them."""

import json
from datetime import timedelta

import pytest
from django.core.exceptions import PermissionDenied
from django.utils import timezone
from pytest_django import DjangoAssertNumQueries

from assessments.actions.evidence import make_evidence
from assessments.models import Decision, EvidenceReport
from assessments.queries.evidence import cohort_of, standing_of
from assessments.queries.evidence.todo import evidence_to_look_at
from tests.assessments.builders import Yard, make_yard, score_all
from tests.assessments.evidence.cohorts import another, cohort_yard, decide, second_instructor
from tests.triggers import lifted
from training.digests import digest
from training.errors import Refused
from training.models import LogEntry, Person

pytestmark = pytest.mark.django_db
LEAD = frozenset({"lead"})


def make(yard: Yard) -> EvidenceReport:
    return make_evidence(actor=yard.lead, standard=yard.standard, samples=100)


def decide_more(yard: Yard, number: int) -> None:
    for _ in range(number):
        attempt = another(yard)
        score_all(attempt, yard.instructor)
        decide(yard, attempt)


def titles(person: Person) -> list[str]:
    return [todo.title for todo in evidence_to_look_at(person, LEAD)]


def test_a_report_is_kept_with_its_digests_and_logged() -> None:
    yard = cohort_yard(6)
    report = EvidenceReport.objects.get(pk=make(yard).pk)
    assert report.document["schema"] == "bankermark/evidence/1"
    assert (report.document["samples"], report.document["seed"]) == (100, 1)
    assert report.document["cohort"]["attempts"] == 6
    assert report.document["cohort"]["double_scored"] == 6
    assert len(report.document["sections"]) >= 3
    assert report.digest == digest(report.document)
    assert report.input_digest == cohort_of(yard.standard).digest
    row = LogEntry.objects.get(verb="evidence.made")
    assert (row.actor, row.subject_id) == (yard.lead, str(report.pk))
    assert row.data["attempts"] == 6
    assert row.data["digest"] == report.digest


def test_no_name_and_no_float_is_in_it() -> None:
    yard = cohort_yard(6)
    text = json.dumps(make(yard).document)
    people = [enrolment.person for enrolment in yard.run.enrolments.select_related("person")]
    for person in [*people, yard.lead, *yard.run.instructors.all()]:
        assert person.full_name not in text
        assert person.email not in text
    json.loads(text, parse_float=lambda found: pytest.fail(f"a float: {found}"))


def test_the_same_scores_give_no_second_report() -> None:
    yard = cohort_yard(4)
    make(yard)
    with pytest.raises(Refused, match="Nothing new since"):
        make(yard)
    decide_more(yard, 1)
    make(yard)
    assert EvidenceReport.objects.count() == 2


def test_the_same_scores_give_the_same_figures() -> None:
    yard = cohort_yard(4)
    first = make(yard).document
    with lifted("assessments_evidencereport"):
        EvidenceReport.objects.all().delete()
    assert make(yard).document == first


def test_before_any_decision_it_says_what_to_do() -> None:
    yard = make_yard()
    score_all(another(yard), yard.instructor)
    with pytest.raises(Refused, match="sign off the first ones"):
        make(yard)


def test_only_a_lead_of_the_provider_makes_one() -> None:
    yard = cohort_yard(2)
    for person in (yard.instructor, yard.trainee, make_yard().lead):
        with pytest.raises(PermissionDenied):
            make_evidence(actor=person, standard=yard.standard)
    assert not EvidenceReport.objects.exists()
    assert not LogEntry.objects.filter(verb="evidence.made").exists()


def test_samples_that_cannot_be_drawn_are_refused() -> None:
    yard = cohort_yard(3)
    with pytest.raises(Refused, match="samples"):
        make_evidence(actor=yard.lead, standard=yard.standard, samples=0)


def test_one_decided_attempt_is_enough_to_begin() -> None:
    yard = make_yard()
    decide_more(yard, 1)
    assert make(yard).document["cohort"]["attempts"] == 1


def test_the_lead_is_told_when_enough_is_new(
    django_assert_num_queries: DjangoAssertNumQueries,
) -> None:
    yard = make_yard()
    decide_more(yard, 4)
    assert titles(yard.lead) == []
    decide_more(yard, 1)
    with django_assert_num_queries(1):
        (todo,) = evidence_to_look_at(yard.lead, LEAD)
    assert todo.title == "Look at the evidence on Dutchman repair"
    assert todo.detail == "Standard 1: 5 attempts were decided and there is no report yet."
    assert titles(make_yard().lead) == []
    assert not list(evidence_to_look_at(yard.instructor, frozenset({"instructor"})))
    make(yard)
    assert titles(yard.lead) == []
    decide_more(yard, 5)
    (todo,) = evidence_to_look_at(yard.lead, LEAD)
    assert todo.detail == "Standard 1: 5 attempts were decided since the last report."
    assert standing_of(yard.standard).due


def test_after_a_year_one_new_attempt_is_enough() -> None:
    yard = make_yard()
    decide_more(yard, 1)
    assert titles(yard.lead) == []
    a_year_ago = timezone.now() - timedelta(days=366)
    with lifted("assessments_decision"):
        Decision.objects.update(decided_at=a_year_ago)
    assert len(titles(yard.lead)) == 1, "decided a year ago, and never looked at"
    make(yard)
    with lifted("assessments_evidencereport"):
        EvidenceReport.objects.update(made_at=a_year_ago + timedelta(hours=1))
    assert titles(yard.lead) == [], "nothing is new"
    decide_more(yard, 1)
    assert len(titles(yard.lead)) == 1
    with lifted("assessments_evidencereport"):
        EvidenceReport.objects.update(made_at=a_year_ago + timedelta(days=9))
    assert titles(yard.lead) == []


def test_two_assessors_count_one_attempt() -> None:
    yard = make_yard()
    second = second_instructor(yard)
    attempt = another(yard)
    for assessor in (yard.instructor, second):
        score_all(attempt, assessor)
    decide(yard, attempt)
    standing = standing_of(yard.standard)
    assert (standing.new, standing.reports, standing.due) == (1, [], False)
