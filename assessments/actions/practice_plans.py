"""What to practise until when: proposed by one side, agreed by the other, ticked off by both."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from django.core.exceptions import PermissionDenied
from django.db import transaction
from django.utils import timezone
from django.utils.translation import gettext as _

from assessments.actions.plan_letters import tell_agreed, tell_proposed
from assessments.models import Attempt, Decision, PlanItem, PracticePlan
from assessments.queries.attempts import current_decision
from assessments.queries.calibration.authority import site_day
from assessments.queries.plans import current_plan
from assessments.queries.scope import attempts_assessable_by
from training.actions.log import write_log
from training.errors import Refused
from training.models import Module, Person

MOST_ITEMS = 20
LONGEST_TEXT = 500
LONGEST_NOTE = 2000
LONGEST_DAYS = 366


@dataclass(frozen=True)
class ItemFacts:
    """One thing to practise by a day; ``criterion`` is a key of the standard, or empty.

    ``field`` ends the names of the fields that hold it on a page, such as ``_0``. ``of`` is the
    item of the plan before that it goes on with: what was done of it stays done.
    """

    text: str
    by_day: date
    criterion: str = ""
    module: Module | None = None
    field: str = ""
    of: PlanItem | None = None


@transaction.atomic
def propose_plan(
    *,
    actor: Person,
    attempt: Attempt,
    items: Sequence[ItemFacts],
    note: str = "",
    replaces: PracticePlan | None = None,
) -> PracticePlan:
    """Propose what to practise and return the plan; the other side is told by e-mail.

    The two sides are the trainee and those who may assess the attempt. ``replaces`` is the plan
    that the proposer read, None where there was none. Raises PermissionDenied for anybody else;
    Refused where no decision asks for practice, another plan came meanwhile, and, at the field,
    for an item without text, by a day that is past or too far, or of something unknown.
    """
    _require_side(actor, attempt)
    locked = _locked(attempt)
    _require_practice(locked)
    now = current_plan(locked)
    if (now and now.pk) != (replaces and replaces.pk):
        raise Refused(
            _("Somebody proposed another plan meanwhile. Read that one, then propose yours again.")
        )
    _check_note(note)
    _check_items(locked, items, now)
    plan = PracticePlan.objects.create(
        attempt=locked, replaces=now, note=note.strip(), proposed_by=actor
    )
    PlanItem.objects.bulk_create(
        PlanItem(
            plan=plan,
            position=position,
            criterion=facts.criterion,
            text=facts.text.strip(),
            module=facts.module,
            by_day=facts.by_day,
            done_on=facts.of.done_on if facts.of else None,
            done_by=facts.of.done_by if facts.of else None,
        )
        for position, facts in enumerate(items)
    )
    tell_proposed(plan, actor)
    write_log(
        actor=actor,
        verb="practice_plan.proposed",
        subject=plan,
        data={"attempt": str(locked.pk), "items": len(items)},
    )
    return plan


@transaction.atomic
def agree_plan(*, actor: Person, plan: PracticePlan) -> PracticePlan:
    """Agree to what the other side proposed and return the plan; the proposer is told.

    Raises PermissionDenied for who is on neither side; Refused for the side that proposed it,
    and where it was replaced or agreed meanwhile.
    """
    _require_side(actor, plan.attempt)
    attempt = _locked(plan.attempt)
    now = current_plan(attempt)
    if now is None or now.pk != plan.pk:
        raise Refused(_("Another plan was proposed meanwhile. Read that one."))
    if now.agreed_at is not None:
        raise Refused(_("This plan is agreed already."))
    trainee = attempt.enrolment.person_id
    if (now.proposed_by_id == trainee) == (actor.pk == trainee):
        raise Refused(
            _("Your side proposed this plan: the other side agrees to it, or proposes another.")
        )
    now.agreed_by, now.agreed_at = actor, timezone.now()
    now.save(update_fields=["agreed_by", "agreed_at"])
    tell_agreed(now)
    write_log(
        actor=actor,
        verb="practice_plan.agreed",
        subject=now,
        data={"attempt": str(attempt.pk)},
    )
    return now


@transaction.atomic
def tick_item(*, actor: Person, item: PlanItem, done: bool) -> PlanItem:
    """Say that something of an agreed plan was practised today, or take that back.

    Raises PermissionDenied for who is on neither side; Refused while the plan is not agreed, and
    for a plan that was replaced. The same said twice changes nothing.
    """
    attempt = item.plan.attempt
    _require_side(actor, attempt)
    _locked(attempt)
    now = current_plan(attempt)
    if now is None or now.pk != item.plan_id:
        raise Refused(_("Another plan was proposed meanwhile. Read that one."))
    if now.agreed_at is None:
        raise Refused(_("This plan is not agreed yet: things are ticked off once it is."))
    locked = PlanItem.objects.select_for_update(of=("self",)).get(pk=item.pk)
    if (locked.done_on is not None) == done:
        return locked
    locked.done_on = site_day(attempt) if done else None
    locked.done_by = actor if done else None
    locked.save(update_fields=["done_on", "done_by"])
    write_log(
        actor=actor,
        verb="practice_item.done" if done else "practice_item.undone",
        subject=locked,
        data={"plan": str(now.pk), "position": locked.position},
    )
    return locked


def _require_side(actor: Person, attempt: Attempt) -> None:
    own = attempt.enrolment.person_id == actor.pk
    if not own and not attempts_assessable_by(actor).filter(pk=attempt.pk).exists():
        raise PermissionDenied("A plan is made by the trainee and those who teach the run.")


def _locked(attempt: Attempt) -> Attempt:
    """Return the attempt; whoever proposes or agrees at the same time waits."""
    rows = Attempt.objects.select_for_update(of=("self",))
    return rows.select_related(
        "standard", "enrolment__person", "enrolment__run__program", "enrolment__run__site"
    ).get(pk=attempt.pk)


def _require_practice(attempt: Attempt) -> None:
    decision = current_decision(attempt)
    if attempt.state != Attempt.State.DECIDED or decision is None:
        raise Refused(_("A practice plan follows a result: this attempt has none that counts."))
    if decision.result == Decision.Result.MET:
        raise Refused(_("This attempt met the standard: nothing has to be practised for it."))


def _check_note(note: str) -> None:
    if len(note.strip()) > LONGEST_NOTE or "\0" in note:
        raise Refused(
            _("Keep the note to {most} characters of text.").format(most=LONGEST_NOTE),
            field="note",
        )


def _check_items(attempt: Attempt, items: Sequence[ItemFacts], before: PracticePlan | None) -> None:
    if not items:
        raise Refused(_("Write at least one thing to practise."), field="text_0")
    if len(items) > MOST_ITEMS:
        raise Refused(
            _("{most} things at most: leave out what matters least.").format(most=MOST_ITEMS)
        )
    today = site_day(attempt)
    keys = {row["key"] for row in attempt.standard.document["criteria"]}
    for facts in items:
        _check_item(facts, today, keys, attempt)
        if facts.of is not None and (before is None or facts.of.plan_id != before.pk):
            raise Refused(_("Another plan was proposed meanwhile. Read that one."))


def _check_item(facts: ItemFacts, today: date, keys: set[str], attempt: Attempt) -> None:
    text = facts.text.strip()
    if not text or len(text) > LONGEST_TEXT or "\0" in text:
        raise Refused(
            _("Write what to practise, in {most} characters at most.").format(most=LONGEST_TEXT),
            field=f"text{facts.field}",
        )
    done = facts.of is not None and facts.of.done_on is not None
    if facts.by_day < today and not done:
        raise Refused(
            _("This day is past: choose today or a later one."), field=f"by_day{facts.field}"
        )
    if facts.by_day > today + timedelta(days=LONGEST_DAYS):
        raise Refused(
            _("This day is more than a year from now: choose an earlier one."),
            field=f"by_day{facts.field}",
        )
    if facts.criterion and facts.criterion not in keys:
        raise Refused(
            _("The standard has no such criterion: choose one of the list."),
            field=f"criterion{facts.field}",
        )
    program = attempt.enrolment.run.program_id
    if facts.module is not None and facts.module.program_id != program:
        raise Refused(
            _("This module is of another program: choose one of the list."),
            field=f"module{facts.field}",
        )
