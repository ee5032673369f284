"""Issuing a whole run: who gets a record, who does not and why, and nothing twice."""

import uuid
from datetime import timedelta
from typing import Any

import pytest
from django.core import mail
from django.core.exceptions import PermissionDenied
from django.db import IntegrityError, OperationalError, transaction
from django.utils import timezone
from django_tasks import TaskResultStatus
from django_tasks_db.models import DBTaskResult

from assessments.models import Decision
from certificates.actions import issue_item as issuing
from certificates.actions.issue import issue_record
from certificates.actions.issue_item import GIVEN_UP, TRIES, issue_item
from certificates.actions.issue_run import LEASE, issue_run, take_up_again
from certificates.models import IssueItem, IssueJob, Record
from tests.assessments.builders import Yard, at_once, make_yard
from tests.certificates.builders import decide_attempt, met_decision
from tests.certificates.jobs.builders import assert_each_once, one_more, work_off
from tests.factories import make_person, make_role
from training.errors import Refused
from training.models import LogEntry, Role


@pytest.fixture
def yard(db: None) -> Yard:
    return make_yard()


def states(job: IssueJob) -> list[str]:
    """Return the state of each item, in the order in which they were asked for."""
    return list(job.items.order_by("pk").values_list("state", flat=True))


def test_who_met_the_standard_gets_a_record_and_an_e_mail_nobody_else_does(
    yard: Yard, django_capture_on_commit_callbacks: Any
) -> None:
    met = [met_decision(yard), one_more(yard)]
    one_more(yard, met=False)
    job = issue_run(actor=yard.lead, run=yard.run)
    assert states(job) == ["waiting", "waiting"]
    assert not Record.objects.exists()
    with django_capture_on_commit_callbacks(execute=True):
        work_off()
    assert states(job) == ["issued", "issued"]
    assert_each_once(met)
    assert {record.issued_by for record in Record.objects.all()} == {yard.lead}
    holders = {decision.attempt.enrolment.person.email for decision in met}
    assert sorted(to for sent in mail.outbox for to in sent.to) == sorted(holders)
    entry = LogEntry.objects.get(verb="records.asked")
    assert sorted(entry.data["decisions"]) == sorted(str(decision.pk) for decision in met)


def test_asking_again_asks_only_for_what_is_not_asked_for_yet(yard: Yard) -> None:
    first = met_decision(yard)
    issue_run(actor=yard.lead, run=yard.run)
    with pytest.raises(Refused, match="No record of this run waits"):
        issue_run(actor=yard.instructor, run=yard.run)
    second = one_more(yard)
    job = issue_run(actor=yard.instructor, run=yard.run)
    assert [item.decision for item in job.items.all()] == [second]
    work_off()
    assert_each_once([first, second])
    with pytest.raises(Refused, match="No record of this run waits"):
        issue_run(actor=yard.lead, run=yard.run)


def test_a_record_issued_alone_meanwhile_is_the_record(yard: Yard) -> None:
    decision = met_decision(yard)
    job = issue_run(actor=yard.lead, run=yard.run)
    record = issue_record(actor=yard.instructor, decision=decision)
    work_off()
    assert job.items.get().record == record
    assert_each_once([decision])


def test_a_run_without_a_met_decision_has_no_job(yard: Yard) -> None:
    one_more(yard, met=False)
    with pytest.raises(Refused):
        issue_run(actor=yard.lead, run=yard.run)
    assert not IssueJob.objects.exists()


@pytest.mark.parametrize("who", ["trainee", "stranger", "other lead", "other instructor"])
def test_others_may_not_ask(yard: Yard, who: str) -> None:
    met_decision(yard)
    actor = {
        "trainee": yard.trainee,
        "stranger": make_person(),
        "other lead": make_yard().lead,
        "other instructor": make_role(Role.Kind.INSTRUCTOR, yard.provider),
    }[who]
    with pytest.raises(PermissionDenied):
        issue_run(actor=actor, run=yard.run)
    assert not IssueJob.objects.exists()
    assert not DBTaskResult.objects.exists()


def test_the_own_record_is_left_for_another(yard: Yard) -> None:
    met_decision(yard)
    other = one_more(yard)
    Role.objects.create(person=yard.trainee, organisation=yard.provider, kind=Role.Kind.LEAD)
    job = issue_run(actor=yard.trainee, run=yard.run)
    assert [item.decision for item in job.items.all()] == [other]


def test_what_was_refused_says_why_and_can_be_asked_for_again(yard: Yard) -> None:
    decision = met_decision(yard)
    job = issue_run(actor=yard.lead, run=yard.run)
    again = decide_attempt(decision.attempt, yard.instructor, replaces=decision)
    work_off()
    item = job.items.get()
    assert (item.state, item.record) == ("refused", None)
    assert "made anew" in item.sentence
    job = issue_run(actor=yard.lead, run=yard.run)
    work_off()
    assert states(job) == ["issued"]
    assert_each_once([again])


def test_who_lost_the_role_meanwhile_issues_nothing(yard: Yard) -> None:
    met_decision(yard)
    job = issue_run(actor=yard.lead, run=yard.run)
    Role.objects.filter(person=yard.lead).delete()
    work_off()
    assert job.items.get().sentence == (
        f"{yard.lead} neither leads nor teaches this run any longer."
    )
    assert not Record.objects.exists()


def killed(item: IssueItem, *, tries: int = 1, ago: timedelta = LEASE) -> None:
    """Leave ``item`` as a worker does that was killed while it worked, ``ago``."""
    DBTaskResult.objects.filter(pk__in=[item.task]).update(
        status=TaskResultStatus.RUNNING, started_at=timezone.now() - ago
    )
    IssueItem.objects.filter(pk=item.pk).update(state="working", tries=tries)


@pytest.mark.parametrize("begun", [True, False], ids=["working", "task-taken-item-not"])
def test_what_a_killed_worker_left_is_taken_up_once(yard: Yard, begun: bool) -> None:
    decision = met_decision(yard)
    item = issue_run(actor=yard.lead, run=yard.run).items.get()
    killed(item, ago=LEASE - timedelta(seconds=5))
    assert take_up_again() == 0  # it may still be at work
    killed(item)
    if not begun:
        IssueItem.objects.filter(pk=item.pk).update(state="waiting")
    assert take_up_again() == 1
    assert take_up_again() == 0  # it is in the queue now
    (left,) = DBTaskResult.objects.filter(pk__in=[item.task])
    assert left.status == TaskResultStatus.FAILED
    work_off()
    assert_each_once([decision])


def test_a_task_that_is_gone_from_the_queue_is_made_anew(yard: Yard) -> None:
    decision = met_decision(yard)
    issue_run(actor=yard.lead, run=yard.run)
    DBTaskResult.objects.all().delete()
    work_off()
    assert_each_once([decision])


def test_an_error_that_nobody_foresaw_is_tried_again(
    yard: Yard, monkeypatch: pytest.MonkeyPatch
) -> None:
    decision = met_decision(yard)
    job = issue_run(actor=yard.lead, run=yard.run)
    calls = []

    def fails_once(**kwargs: Any) -> Record:
        calls.append(kwargs)
        if len(calls) == 1:
            raise OSError("the disk is full")
        return issue_record(**kwargs)

    monkeypatch.setattr(issuing, "issue_record", fails_once)
    work_off()
    assert (states(job), job.items.get().tries) == (["issued"], 2)
    assert_each_once([decision])


def test_what_fails_each_time_is_given_up_with_a_sentence(
    yard: Yard, monkeypatch: pytest.MonkeyPatch
) -> None:
    met_decision(yard)
    job = issue_run(actor=yard.lead, run=yard.run)
    calls = []

    def fails(**kwargs: Any) -> Record:
        calls.append(kwargs)
        raise OSError("the disk is full")

    monkeypatch.setattr(issuing, "issue_record", fails)
    work_off()
    assert (states(job), job.items.get().sentence) == (["refused"], GIVEN_UP)
    assert len(calls) == TRIES


def test_a_worker_killed_after_the_record_was_kept_tells_the_holder_again(
    yard: Yard, monkeypatch: pytest.MonkeyPatch
) -> None:
    decision = met_decision(yard)
    item = issue_run(actor=yard.lead, run=yard.run).items.get()
    with monkeypatch.context() as patch:
        patch.setattr(issuing, "_finish", lambda *args, **kwargs: None)  # it never came to this
        issue_item(item.pk)
    assert mail.outbox == []  # the transaction of this test is not committed
    killed(item)
    work_off()
    assert [sent.to for sent in mail.outbox] == [[yard.trainee.email]]
    assert_each_once([decision])


def test_nobody_is_told_twice_of_a_record_that_another_issued(yard: Yard) -> None:
    decision = met_decision(yard)
    item = issue_run(actor=yard.lead, run=yard.run).items.get()
    issue_record(actor=yard.instructor, decision=decision)
    killed(item)
    work_off()
    assert mail.outbox == []
    assert_each_once([decision])


def test_a_slow_worker_that_comes_back_changes_nothing(yard: Yard) -> None:
    met_decision(yard)
    item = issue_run(actor=yard.lead, run=yard.run).items.get()
    work_off()
    before = IssueItem.objects.values().get()
    issuing._finish(item.pk, sentence="Too late.")
    issue_item(item.pk)
    assert IssueItem.objects.values().get() == before


@pytest.mark.django_db(transaction=True)
def test_two_people_at_once_ask_for_each_record_once() -> None:
    yard = make_yard()
    decisions = [met_decision(yard), one_more(yard)]

    def ask(number: int) -> object:
        try:
            return issue_run(actor=(yard.lead, yard.instructor)[number], run=yard.run)
        except Refused as refused:
            return refused

    answers = at_once(ask)
    assert sorted(type(answer).__name__ for answer in answers) == ["IssueJob", "Refused"]
    asked = IssueItem.objects.values_list("decision", flat=True)
    assert sorted(asked) == sorted(d.pk for d in decisions)
    assert DBTaskResult.objects.count() == 2


@pytest.mark.django_db(transaction=True)
def test_two_workers_at_one_item_issue_one_record() -> None:
    yard = make_yard()
    decision = met_decision(yard)
    item = issue_run(actor=yard.lead, run=yard.run).items.get()
    at_once(lambda number: issue_item(item.pk))
    # Where the second came between, its worker's task is over; the item is not lost.
    work_off()
    assert IssueItem.objects.get().state == "issued"
    assert_each_once([decision])
    assert len(mail.outbox) == 1


@pytest.mark.parametrize(
    "fields",
    [
        {"state": "issued"},
        {"state": "refused"},
        {"sentence": "Why."},
        {"state": "else"},
        {"decision_id": uuid.uuid4()},
    ],
    ids=["no-record", "no-sentence", "sentence-while-waiting", "unknown", "another-decision"],
)
def test_the_database_refuses_an_item_that_cannot_be(yard: Yard, fields: dict[str, Any]) -> None:
    met_decision(yard)
    item = issue_run(actor=yard.lead, run=yard.run).items.get()
    with pytest.raises(IntegrityError), transaction.atomic():
        IssueItem.objects.filter(pk=item.pk).update(**fields)


def test_the_database_keeps_issued_items_and_jobs_as_they_are(yard: Yard) -> None:
    met_decision(yard)
    job = issue_run(actor=yard.lead, run=yard.run)
    items = IssueItem.objects.filter(job=job)
    with pytest.raises(IntegrityError), transaction.atomic():
        items._raw_delete(items.db)
    work_off()
    with pytest.raises(IntegrityError), transaction.atomic():
        items.update(state="waiting", record=None)
    with pytest.raises(IntegrityError), transaction.atomic():
        IssueJob.objects.filter(pk=job.pk).update(asked_by=yard.instructor)


def test_a_decision_waits_in_one_job_only(yard: Yard) -> None:
    met_decision(yard)
    job = issue_run(actor=yard.lead, run=yard.run)
    other = IssueJob.objects.create(run=yard.run, asked_by=yard.lead)
    with pytest.raises(IntegrityError), transaction.atomic():
        IssueItem.objects.create(job=other, decision=Decision.objects.get(issue_items__job=job))


def test_a_database_that_is_away_for_a_moment_does_not_end_the_worker(
    yard: Yard, monkeypatch: pytest.MonkeyPatch
) -> None:
    from certificates.management.commands import worker

    decision = met_decision(yard)
    issue_run(actor=yard.lead, run=yard.run)
    calls = []

    def away_once(lease: timedelta) -> int:
        calls.append(lease)
        if len(calls) == 1:
            raise OperationalError("the connection is lost")
        return take_up_again(lease)

    monkeypatch.setattr(worker, "take_up_again", away_once)
    monkeypatch.setattr(worker, "NO_DATABASE", 0)
    work_off()
    assert_each_once([decision])
