"""The judges of a panel: inviting them, taking the seat, standing down."""

from functools import partial

from django.core.exceptions import PermissionDenied
from django.db import transaction
from django.utils import timezone
from django.utils.translation import gettext as _

from assessments.actions.panel.guards import (
    led_panel,
    locked_panel,
    made_a_piece,
    require_before_the_end,
    written,
)
from assessments.actions.panel.notify import tell_judge
from assessments.models import Judge, Panel
from training.actions.identify import identify
from training.actions.log import write_log
from training.actions.passwords import link_parts
from training.actions.permission import require_lead
from training.actions.state import change_state
from training.errors import Refused
from training.models import Person
from training.queries.scope import is_lead

STATES: dict[str, set[str]] = {
    Judge.State.INVITED: {Judge.State.SEATED, Judge.State.STOOD_DOWN},
    Judge.State.SEATED: {Judge.State.STOOD_DOWN},
}


@transaction.atomic
def invite_judge(*, actor: Person, panel: Panel, full_name: str, email: str) -> Judge:
    """Invite a person to judge, made known first if need be; the person is told by e-mail.

    Raises PermissionDenied for anyone but a lead; Refused at the field for the lead's own
    address, a judge invited before, and the maker of a piece that is judged.
    """
    locked = led_panel(actor, panel)
    require_before_the_end(locked)
    person = identify(full_name, email)
    if person.pk == actor.pk:
        raise Refused(
            _("Who judges does not adopt: you lead this panel, so somebody else judges."),
            field="email",
        )
    earlier = locked.judges.filter(person=person).first()
    if earlier is not None:
        raise Refused(
            _("{person} was invited before ({state}): a person sits on a panel once.").format(
                person=person, state=earlier.get_state_display().lower()
            ),
            field="email",
        )
    if made_a_piece(locked, person):
        raise Refused(
            _(
                "{person} was a trainee in a run whose pieces are judged: nobody judges the own "
                "piece."
            ).format(person=person),
            field="email",
        )
    judge = Judge.objects.create(panel=locked, person=person, invited_by=actor)
    write_log(
        actor=actor,
        verb="judge.invited",
        subject=judge,
        data={"panel": str(locked.pk), "person": person.pk},
    )
    transaction.on_commit(partial(tell_judge, judge), robust=True)
    return judge


@transaction.atomic
def make_judge_link(*, actor: Person, judge: Judge) -> dict[str, str]:
    """Return the parts of the address by which an invited judge sets a first password.

    Whoever holds it becomes that person, so there is none for people who have a password.
    """
    require_lead(actor, judge.panel.program.provider)
    person = Person.objects.select_for_update().get(pk=judge.person_id)
    if person.has_usable_password():
        raise Refused(
            _(
                "{person} has a password already and signs in with it. A forgotten one is made "
                "anew at the server: manage.py password_link."
            ).format(person=person)
        )
    write_log(actor=actor, verb="password.link_made", subject=person)
    return link_parts(person)


@transaction.atomic
def take_seat(*, actor: Person, judge: Judge, qualifications: str, interests: str) -> Judge:
    """Take the seat: the judge says what qualifies, and which interests there are.

    Raises PermissionDenied for anybody but the invited person; Refused at the field where
    something is left out: who has no interest writes "none".
    """
    if judge.person_id != actor.pk:
        raise PermissionDenied(_("Only the invited person takes this seat."))
    require_before_the_end(locked_panel(judge.panel))
    locked = Judge.objects.select_for_update(of=("self",)).get(pk=judge.pk)
    locked.qualifications = written(
        qualifications,
        "qualifications",
        _("Write what qualifies you to judge this work: trade, years, tickets."),
    )
    locked.interests = written(
        interests,
        "interests",
        _(
            "Write which interest you have in who meets the standard: for example whom you "
            "employ or teach. If there is none, write: none."
        ),
    )
    locked.declared_at = timezone.now()
    if locked.state != Judge.State.INVITED:
        raise Refused(
            _(
                "This seat is {state}: nothing is declared anew. If "
                "your interests changed, stand down and say why."
            ).format(state=locked.get_state_display().lower())
        )
    locked.save(update_fields=["qualifications", "interests", "declared_at"])
    change_state(locked, to=Judge.State.SEATED, allowed=STATES)
    write_log(
        actor=actor,
        verb="judge.seated",
        subject=locked,
        data={
            "panel": str(locked.panel_id),
            "qualifications": locked.qualifications,
            "interests": locked.interests,
        },
    )
    return locked


@transaction.atomic
def stand_down(*, actor: Person, judge: Judge, reason: str) -> Judge:
    """Leave the panel, or have a judge leave it; what was entered stays on record, uncounted.

    Raises PermissionDenied for anybody but the judge and a lead of the provider.
    """
    if judge.person_id != actor.pk and not is_lead(actor, judge.panel.program.provider):
        raise PermissionDenied(_("Only the judge or a training lead may do this."))
    require_before_the_end(locked_panel(judge.panel))
    because = written(reason, "reason", _("Write why: it stays on record."))
    locked = Judge.objects.select_for_update(of=("self",)).get(pk=judge.pk)
    locked.stood_down_because = because
    locked.save(update_fields=["stood_down_because"])
    change_state(locked, to=Judge.State.STOOD_DOWN, allowed=STATES)
    write_log(
        actor=actor,
        verb="judge.stood_down",
        subject=locked,
        data={"panel": str(locked.panel_id), "reason": because},
    )
    return locked
