"""Deciding what to change in a program, and saying that it is done."""

from datetime import date

from django.db import transaction
from django.utils import timezone
from django.utils.translation import gettext as _

from training.actions.log import write_log
from training.actions.permission import require_lead
from training.dates import day_text
from training.errors import Refused
from training.models import Person, Program, ProgramChange


@transaction.atomic
def decide_change(
    *,
    actor: Person,
    program: Program,
    text: str,
    grounds: str,
    decided_on: date,
    due_on: date | None = None,
) -> ProgramChange:
    """Save and return a decided change of ``program``.

    Raises PermissionDenied for anyone but a lead; Refused without text or grounds, for a
    decision that lies ahead, and for a change due before it was decided.
    """
    require_lead(actor, program.provider)
    text, grounds = text.strip(), grounds.strip()
    if not text:
        raise Refused(_("Write what is to change."), field="text")
    if not grounds:
        raise Refused(
            _("Write the grounds: which figure, answer or event led to it."), field="grounds"
        )
    if decided_on > timezone.localdate():
        raise Refused(_("This day lies ahead: give the day of the decision."), field="decided_on")
    if due_on is not None and due_on < decided_on:
        raise Refused(_("This is before the decision: give a later day or none."), field="due_on")
    change = ProgramChange.objects.create(
        program=program,
        text=text,
        grounds=grounds,
        decided_by=actor,
        decided_on=decided_on,
        due_on=due_on,
    )
    write_log(
        actor=actor,
        verb="change.decided",
        subject=change,
        data={"program": str(program.pk), "decided_on": decided_on.isoformat()},
    )
    return change


@transaction.atomic
def finish_change(*, actor: Person, change: ProgramChange, done_on: date) -> ProgramChange:
    """Save the day on which the change was made, and return it.

    Raises PermissionDenied for anyone but a lead; Refused for a change that is done, and for a
    day before the decision or ahead.
    """
    require_lead(actor, change.program.provider)
    change = (
        ProgramChange.objects.select_related("program")
        .select_for_update(of=("self",))
        .get(pk=change.pk)
    )
    if change.done_on is not None:
        raise Refused(
            _("This change was done on {done_on} already.").format(done_on=day_text(change.done_on))
        )
    if done_on < change.decided_on:
        raise Refused(
            _("It was decided on {decided_on}: give that day or a later one.").format(
                decided_on=day_text(change.decided_on)
            ),
            field="done_on",
        )
    if done_on > timezone.localdate():
        raise Refused(_("This day lies ahead: say so when it is done."), field="done_on")
    change.done_on = done_on
    change.save(update_fields=["done_on"])
    write_log(
        actor=actor,
        verb="change.done",
        subject=change,
        data={"done_on": done_on.isoformat()},
    )
    return change
