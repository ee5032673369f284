"""A plan is proposed by one side and agreed by the other; nothing of it is lost or overtaken."""

from datetime import datetime, time, timedelta
from typing import Any

import pytest
from django.core import mail
from django.core.exceptions import PermissionDenied
from django.db import IntegrityError, transaction

from assessments.actions.constraints import violated
from assessments.actions.practice_plans import ItemFacts, agree_plan, propose_plan, tick_item
from assessments.models import Attempt, PlanItem, PracticePlan
from assessments.queries.plans import current_plan, suggested
from tests.assessments.builders import GOOD, Yard
from tests.assessments.progress.builders import decided, practice_yard, proposed, today
from tests.factories import make_person, make_program
from tests.triggers import lifted
from training.actions.sessions import Plan, add_session
from training.errors import Refused
from training.models import LogEntry, Module
from training.site_time import zone_of

pytestmark = pytest.mark.django_db


@pytest.fixture
def yard(db: None) -> Yard:
    """Return a yard with modules, whose run is on."""
    return practice_yard()


def test_the_other_side_agrees_and_both_are_written_to(
    yard: Yard, django_capture_on_commit_callbacks: Any
) -> None:
    attempt = decided(yard)
    mail.outbox.clear()
    with django_capture_on_commit_callbacks(execute=True):
        plan = proposed(yard, attempt, yard.trainee)
        assert not mail.outbox
    (letter,) = mail.outbox
    assert letter.to == [yard.instructor.email]
    assert "Wedge three joints dry." in letter.body
    with pytest.raises(Refused, match="Your side proposed"):
        agree_plan(actor=yard.trainee, plan=plan)
    mail.outbox.clear()
    with django_capture_on_commit_callbacks(execute=True):
        agreed = agree_plan(actor=yard.lead, plan=plan)
    assert (agreed.agreed_by, agreed.agreed_at is None) == (yard.lead, False)
    assert [letter.to for letter in mail.outbox] == [[yard.trainee.email]]
    with pytest.raises(Refused, match="agreed already"):
        agree_plan(actor=yard.instructor, plan=plan)
    verbs = LogEntry.objects.filter(verb__startswith="practice_plan").order_by("seq")
    assert list(verbs.values_list("verb", flat=True)) == [
        "practice_plan.proposed", "practice_plan.agreed",
    ]  # fmt: skip


def test_an_instructor_proposes_in_the_language_of_the_trainee(
    yard: Yard, django_capture_on_commit_callbacks: Any
) -> None:
    attempt = decided(yard)
    yard.trainee.language = "es"
    yard.trainee.save()
    mail.outbox.clear()
    with django_capture_on_commit_callbacks(execute=True):
        plan = proposed(yard, attempt, yard.instructor)
    assert [letter.to for letter in mail.outbox] == [[yard.trainee.email]]
    with pytest.raises(Refused, match="Your side proposed"):
        agree_plan(actor=yard.lead, plan=plan)
    assert agree_plan(actor=yard.trainee, plan=plan).agreed_by == yard.trainee


def test_a_counter_proposal_takes_the_place_and_keeps_what_was_done(yard: Yard) -> None:
    attempt = decided(yard)
    first = proposed(yard, attempt, yard.instructor)
    agree_plan(actor=yard.trainee, plan=first)
    item = tick_item(actor=yard.trainee, item=first.items.get(), done=True)
    assert (item.done_on, item.done_by) == (today(yard), yard.trainee)
    second = propose_plan(
        actor=yard.trainee,
        attempt=attempt,
        items=[
            ItemFacts(text=item.text, by_day=item.by_day, of=item),
            ItemFacts(text="Rake one joint.", by_day=today(yard)),
        ],
        replaces=first,
    )
    assert current_plan(attempt) == second
    assert [each.done_by for each in second.items.all()] == [yard.trainee, None]
    with pytest.raises(Refused, match="Another plan"):
        agree_plan(actor=yard.trainee, plan=first)
    with pytest.raises(Refused, match="Another plan"):
        tick_item(actor=yard.trainee, item=item, done=False)
    with pytest.raises(Refused, match="not agreed yet"):
        tick_item(actor=yard.trainee, item=second.items.get(position=1), done=True)
    for stale in (None, first):
        with pytest.raises(Refused, match="meanwhile"):
            proposed(yard, attempt, yard.instructor, replaces=stale)
    assert PracticePlan.objects.count() == 2


def test_a_tick_can_be_taken_back_and_said_twice(yard: Yard) -> None:
    plan = proposed(yard, decided(yard), yard.instructor)
    agree_plan(actor=yard.trainee, plan=plan)
    item = plan.items.get()
    for done in (True, True, False):
        tick_item(actor=yard.instructor, item=item, done=done)
    item.refresh_from_db()
    assert (item.done_on, item.done_by) == (None, None)
    assert LogEntry.objects.filter(verb__startswith="practice_item").count() == 2


@pytest.mark.parametrize(
    ("item", "field"),
    [
        ({"text": "  "}, "text_3"),
        ({"text": "x" * 501}, "text_3"),
        ({"text": "a\0b"}, "text_3"),
        ({"days": -1}, "by_day_3"),
        ({"days": 367}, "by_day_3"),
        ({"criterion": "C9"}, "criterion_3"),
    ],
)
def test_what_will_not_do_is_said_at_its_field(
    yard: Yard, item: dict[str, Any], field: str
) -> None:
    attempt = decided(yard)
    days = item.pop("days", 7)
    wrong = {"by_day": today(yard) + timedelta(days=days), "field": "_3", **item}
    with pytest.raises(Refused) as refused:
        proposed(yard, attempt, yard.instructor, item=wrong)
    assert refused.value.field == field
    assert not PracticePlan.objects.exists()


def test_modules_of_other_programs_and_empty_or_endless_plans_are_refused(yard: Yard) -> None:
    attempt = decided(yard)
    other = Module.objects.create(
        program=make_program(yard.provider), position=0, key="M1", title="Else", minutes=5,
        kind=Module.Kind.LECTURE,
    )  # fmt: skip
    with pytest.raises(Refused) as refused:
        proposed(yard, attempt, yard.instructor, item={"module": other, "field": "_0"})
    assert refused.value.field == "module_0"
    one = ItemFacts(text="Rake one joint.", by_day=today(yard))
    for items in ([], [one] * 21):
        with pytest.raises(Refused):
            propose_plan(actor=yard.instructor, attempt=attempt, items=items)
    with pytest.raises(Refused) as refused:
        proposed(yard, attempt, yard.instructor, note="x" * 2001)
    assert refused.value.field == "note"


def test_a_plan_follows_a_result_that_counts_and_asks_for_practice(yard: Yard) -> None:
    is_open = yard.attempt()
    with pytest.raises(Refused, match="has none"):
        proposed(yard, is_open, yard.instructor)
    Attempt.objects.filter(pk=is_open.pk).update(state="void")
    met = decided(yard, C1=GOOD["C1"])
    with pytest.raises(Refused, match="met the standard"):
        proposed(yard, met, yard.instructor)


def test_nobody_else_takes_part(yard: Yard) -> None:
    attempt, other = decided(yard), practice_yard()
    plan = proposed(yard, attempt, yard.instructor)
    for stranger in (make_person(), other.instructor, other.lead, other.trainee):
        with pytest.raises(PermissionDenied):
            proposed(yard, attempt, stranger, replaces=plan)
        with pytest.raises(PermissionDenied):
            agree_plan(actor=stranger, plan=plan)
        with pytest.raises(PermissionDenied):
            tick_item(actor=stranger, item=plan.items.get(), done=True)


def test_the_result_suggests_what_is_taught_next(yard: Yard) -> None:
    # By hand: C3 is critical and was answered no, so that alone would have had to be otherwise.
    attempt = decided(yard)
    (idea,) = suggested(attempt, attempt.decisions.get())
    assert (idea.criterion, idea.by_day) == ("C3", today(yard) + timedelta(days=7))
    assert idea.sentence == "Criterion C3: no was found; needed is yes."
    assert [module.key for module in idea.modules] == ["M2", "M1"]
    day = today(yard) + timedelta(days=1)
    add_session(actor=yard.lead, run=yard.run, plan=session_plan(yard, day))
    (idea,) = suggested(attempt, attempt.decisions.get())
    assert idea.by_day == day


def test_the_database_holds_the_two_sides(yard: Yard) -> None:
    attempt = decided(yard)
    plan = proposed(yard, attempt, yard.instructor)
    rows = PracticePlan.objects.filter(pk=plan.pk)
    for changes, name in (
        ({"agreed_by": yard.trainee}, "plan_agreed_whole"),
        ({"agreed_by": yard.lead, "agreed_at": plan.proposed_at}, "plan_agreed_between_two_sides"),
        ({"note": "Else"}, "plan_fixed"),
    ):
        with pytest.raises(IntegrityError) as caught, transaction.atomic():
            rows.update(**changes)
        assert violated(caught.value) == name
    with pytest.raises(IntegrityError) as caught, transaction.atomic():
        PracticePlan.objects.create(attempt=attempt, proposed_by=yard.trainee)
    assert violated(caught.value) == "plan_first_once"
    # Without the trigger the constraint still refuses who agrees with the own proposal.
    with (
        lifted("assessments_practiceplan"),
        pytest.raises(IntegrityError) as caught,
        transaction.atomic(),
    ):
        rows.update(agreed_by=yard.instructor, agreed_at=plan.proposed_at)
    assert violated(caught.value) == "plan_agreed_by_another"


def test_the_database_holds_what_is_to_be_practised(yard: Yard) -> None:
    attempt = decided(yard)
    plan = proposed(yard, attempt, yard.instructor)
    item = plan.items.get()
    later = item.by_day + timedelta(days=1)
    rows = PlanItem.objects.filter(pk=item.pk)
    module = Module.objects.get(program=yard.program, key="M2")

    def add(position: int) -> PlanItem:
        return PlanItem.objects.create(plan=plan, position=position, text="More", by_day=later)

    for work, name in (
        (lambda: rows.update(text="Else"), "plan_item_fixed"),
        (lambda: rows.update(by_day=later), "plan_item_fixed"),
        (lambda: rows.update(position=7), "plan_item_fixed"),
        (lambda: rows.update(criterion="C9"), "plan_item_fixed"),
        (lambda: rows.update(module=module), "plan_item_fixed"),
        (rows.delete, "plan_item_fixed"),
        (lambda: rows.update(done_on=later), "plan_item_done_whole"),
        (lambda: add(item.position), "plan_item_position_once"),
    ):
        with pytest.raises(IntegrityError) as caught, transaction.atomic():
            work()
        assert violated(caught.value) == name
    assert add(9).text == "More"
    agree_plan(actor=yard.trainee, plan=plan)
    with pytest.raises(IntegrityError) as caught, transaction.atomic():
        add(10)
    assert violated(caught.value) == "plan_item_before_agreement"
    assert rows.update(done_on=later, done_by=yard.trainee) == 1
    assert rows.update(done_on=None, done_by=None) == 1


def session_plan(yard: Yard, day: Any) -> Any:
    """Return the plan of a session of the practice module on ``day`` at nine."""

    start = datetime.combine(day, time(9), zone_of(yard.run.site))
    return Plan(
        module=Module.objects.get(program=yard.program, key="M2"),
        title="Bedding",
        place=None,
        starts_at=start,
        ends_at=start + timedelta(hours=1),
        instructors=(yard.instructor,),
    )
