"""Entering a judgement: stored once and never changed; a second entry replaces the first."""

import uuid
from collections.abc import Mapping
from typing import Any

from django.core.exceptions import PermissionDenied
from django.db import IntegrityError, transaction
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop as N_

from assessments.actions.constraints import violated
from assessments.actions.panel.guards import LONGEST_NOTE, not_too_long, require_unchanged
from assessments.actions.panel.values import read_value
from assessments.models import Judge, Judgement, JudgingRound
from assessments.queries.panel.asked import asked_keys, current_judgements, with_cells
from training.actions.log import write_log
from training.digests import digest
from training.errors import Refused
from training.models import Person

CLOSED = N_("This round is closed: nothing more is entered in it.")
MEANWHILE = N_(
    "You entered something here meanwhile, in another window or on another device. Reload the "
    "page and see what stands there."
)
# What the database says, in words of what to do.
REFUSALS = {
    "judgement_round_open": CLOSED,
    "judgement_by_seated_judge": N_(
        "Take your seat on this panel first: only seated judges judge."
    ),
    "judgement_first_once": MEANWHILE,
}


def make_judgement(
    *,
    actor: Person,
    round: JudgingRound,
    subject_kind: str,
    subject_key: str,
    value: Mapping[str, Any],
    note: str = "",
) -> Judgement:
    """Store what ``actor`` judges in an open round, and return it; see Judgement for the value.

    The same value and note again change nothing and return what is stored. Raises
    PermissionDenied for who has no seat on the panel; Refused, at the value's field, for what
    the method does not ask, a closed round, a seat not taken, and criteria that changed.
    """
    try:
        with transaction.atomic():
            return _make(actor, round, (subject_kind, subject_key), value, note)
    except IntegrityError as error:
        name = violated(error)
        message = MEANWHILE if "replaces" in name else REFUSALS.get(name)
        if message is None:
            raise
        raise Refused(message) from error


def _make(
    actor: Person,
    round: JudgingRound,
    subject: tuple[str, str],
    value: Mapping[str, Any],
    note: str,
) -> Judgement:
    current = JudgingRound.objects.select_related("panel__program").get(pk=round.pk)
    judge = _seated(actor, current)
    if current.state != JudgingRound.State.OPEN:
        raise Refused(CLOSED)
    require_unchanged(current.panel)
    own = current_judgements([current]).get((current.pk, judge.pk), {})
    if subject not in with_cells(current.panel, asked_keys([current.panel])[current.panel_id], own):
        raise Refused(_("Nothing is asked about this in the round. Go back to your list."))
    kind, key = subject
    read = read_value(current.panel.method, kind, value)
    said = not_too_long(note, "note", LONGEST_NOTE)
    earlier = own.get(subject)
    if earlier is not None and (earlier.value, earlier.note) == (read, said):
        return earlier
    made = Judgement.objects.create(
        id=uuid.uuid4(),
        round=current,
        judge=judge,
        subject_kind=kind,
        subject_key=key,
        value=read,
        note=said,
        replaces=earlier,
    )
    write_log(
        actor=actor,
        verb="judgement.corrected" if earlier else "judgement.made",
        subject=made,
        data={
            "round": current.pk,
            "subject": {"kind": kind, "key": key},
            # What was said is nobody's to read before the round closes, in the log neither.
            "content_digest": digest({"id": str(made.pk), "value": read, "note": said}),
        },
    )
    return made


def _seated(actor: Person, round: JudgingRound) -> Judge:
    judge = Judge.objects.filter(panel=round.panel_id, person=actor).first()
    if judge is None:
        raise PermissionDenied(_("Only a judge of this panel enters judgements."))
    if judge.state == Judge.State.STOOD_DOWN:
        raise Refused(_("You stood down from this panel: nothing more is entered."))
    if judge.state != Judge.State.SEATED:
        raise Refused(REFUSALS["judgement_by_seated_judge"])
    return judge
