"""The rounds of a panel: opening, closing, and the end of the judging."""

from django.db import transaction
from django.db.models import Max
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from assessments.actions.panel.guards import (
    STATES,
    judges_own_piece,
    led_panel,
    not_too_long,
    require_before_the_end,
    require_unchanged,
)
from assessments.models import Judge, JudgingRound, Panel
from assessments.queries.panel.asked import LIMITS_KEY, asked_keys
from assessments.queries.panel.judged import judged_digest
from assessments.queries.panel.progress import progress_of
from training.actions.log import write_log
from training.actions.state import change_state
from training.errors import Refused
from training.models import Person

FEWEST_JUDGES = 2
TRAINING_ROUND = 0
# Estimates of difficulty are made again after the discussion; pieces are looked at once.
ROUNDS_NEEDED = {
    Panel.Method.ANGOFF: 2,
    Panel.Method.EBEL: 2,
    Panel.Method.BORDERLINE: 1,
    Panel.Method.CONTRASTING: 1,
}
LONGEST_DISCUSSION = 10_000


@transaction.atomic
def open_round(*, actor: Person, panel: Panel) -> JudgingRound:
    """Open the next round; the first is for training, and with it the judging begins.

    From then on method, description and what the judges are shown are fixed. Raises
    PermissionDenied for anyone but a lead; Refused with fewer than two seated judges, while a
    round is open, where a judge made one of the pieces, and where the criteria changed.
    """
    locked = led_panel(actor, panel)
    require_before_the_end(locked)
    _check_judges(locked)
    if locked.rounds.filter(state=JudgingRound.State.OPEN).exists():
        raise Refused(_("A round is open already: close it before the next one."))
    if locked.state == Panel.State.PREPARING:
        _begin(locked)
    else:
        require_unchanged(locked)
    last = locked.rounds.aggregate(last=Max("number"))["last"]
    number = TRAINING_ROUND if last is None else last + 1
    opened = JudgingRound.objects.create(panel=locked, number=number, opened_by=actor)
    write_log(
        actor=actor,
        verb="round.opened",
        subject=opened,
        data={
            "panel": str(locked.pk),
            "number": number,
            "judged_digest": locked.judged_digest,
        },
    )
    return opened


@transaction.atomic
def close_round(
    *, actor: Person, round: JudgingRound, discussion: str = "", accept_gaps: bool = False
) -> JudgingRound:
    """Close a round: nothing more is entered, and every judge sees all estimates by letter.

    What is missing stays missing and is shown as such; with gaps the lead must say so by
    ``accept_gaps``. Raises PermissionDenied for anyone but a lead, Refused otherwise.
    """
    panel = led_panel(actor, round.panel)
    # An entry that is on its way holds a share of this row: wait for it, and count it.
    locked = JudgingRound.objects.select_for_update(of=("self",)).get(pk=round.pk)
    if locked.state != JudgingRound.State.OPEN:
        raise Refused(_("This round is closed already."))
    text = not_too_long(discussion, "discussion", LONGEST_DISCUSSION)
    missing = _missing(panel, locked, accept_gaps=accept_gaps)
    JudgingRound.objects.filter(pk=locked.pk).update(
        state=JudgingRound.State.CLOSED,
        closed_at=timezone.now(),
        closed_by=actor,
        discussion=text,
    )
    locked.refresh_from_db()
    write_log(
        actor=actor,
        verb="round.closed",
        subject=locked,
        data={"panel": str(panel.pk), "number": locked.number, "missing": missing},
    )
    return locked


@transaction.atomic
def end_judging(*, actor: Person, panel: Panel) -> Panel:
    """End the judging: the last closed round is what the recommendation rests on.

    Refused while a round is open, before enough rounds were held beside the training (two for
    Angoff and Ebel, one where pieces are judged), and where the criteria changed.
    """
    locked = led_panel(actor, panel)
    if locked.state != Panel.State.JUDGING:
        raise Refused(
            _("This panel is {state}: it is not judging.").format(
                state=locked.get_state_display().lower()
            )
        )
    if locked.rounds.filter(state=JudgingRound.State.OPEN).exists():
        raise Refused(_("A round is open: close it first."))
    held = locked.rounds.exclude(number=TRAINING_ROUND).count()
    needed = ROUNDS_NEEDED[Panel.Method(locked.method)]
    if held < needed:
        raise Refused(
            ngettext(
                "{method} needs one round beside the training round; so far {held}. Open the next "
                "round.",
                "{method} needs {needed} rounds beside the training round; so far {held}. Open the "
                "next round.",
                needed,
            ).format(method=locked.get_method_display(), needed=needed, held=held)
        )
    require_unchanged(locked)
    change_state(locked, to=Panel.State.JUDGED, allowed=STATES)
    write_log(actor=actor, verb="panel.judged", subject=locked, data={"rounds": held})
    return locked


def _check_judges(panel: Panel) -> None:
    seated = panel.judges.filter(state=Judge.State.SEATED).count()
    if seated < FEWEST_JUDGES:
        raise Refused(
            (
                _(
                    "A round needs at least {fewest} seated judges; there is 1. Invite judges, and "
                    "wait until they have taken their seats."
                )
                if seated == 1
                else _(
                    "A round needs at least {fewest} seated judges; there is none. Invite judges, "
                    "and wait until they have taken their seats."
                )
            ).format(fewest=FEWEST_JUDGES)
        )
    makers = ", ".join(str(judge.person) for judge in judges_own_piece(panel))
    if makers:
        raise Refused(
            _(
                "Nobody judges the own piece: {makers} took part in a run that is judged. Have "
                "them stand down, or choose other runs."
            ).format(makers=makers)
        )


def _begin(panel: Panel) -> None:
    if not set(asked_keys([panel])[panel.pk]) - {LIMITS_KEY}:
        raise Refused(_("There is nothing to judge yet: no attempt of the chosen runs is decided."))
    panel.judged_digest = judged_digest(panel.program)
    panel.save(update_fields=["judged_digest"])
    change_state(panel, to=Panel.State.JUDGING, allowed=STATES)


def _missing(panel: Panel, round: JudgingRound, *, accept_gaps: bool) -> int:
    """Return how much is missing; Refused where that is too much, or was not said to be known."""
    progress = progress_of(panel, round)
    if round.number != TRAINING_ROUND and not any(each.entered for each in progress):
        raise Refused(_("Nobody has entered anything in this round yet: it cannot be closed."))
    missing = sum(each.missing for each in progress)
    if missing and not accept_gaps:
        wanted = sum(each.asked for each in progress)
        raise Refused(
            _(
                "{missing} of {wanted} entries are missing. Wait for them; or tick here that the "
                "round closes with gaps: they stay gaps, and nothing is filled in."
            ).format(missing=missing, wanted=wanted),
            field="accept_gaps",
        )
    return missing
