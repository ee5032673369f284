"""Answering what was set aside: taking it in after all, or leaving it out, with a reason."""

import uuid
from collections.abc import Mapping
from typing import Any

from django.core.exceptions import PermissionDenied
from django.db import transaction
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop as N_

from assessments.actions.acceptance import CORRECTED_MEANWHILE, SCORED_ALREADY
from assessments.actions.observations import record_observation
from assessments.actions.site.photo_event import KIND as PHOTO
from assessments.actions.site.photos import record_photo
from assessments.models import Attempt, Observation, Pack, SetAside, SetAsideAnswer
from assessments.queries.scope import may_assess
from training.actions.log import write_log
from training.errors import Refused
from training.models import Person

# Where something else of the same assessor stands, taking in means to put this in its place.
IN_PLACE = (SCORED_ALREADY, CORRECTED_MEANWHILE)
LONGEST_NOTE = 2000
NO_LONGER = N_("{who} no longer assesses this run, or works on it: this cannot be taken in.")


@transaction.atomic
def answer_set_aside(
    *, actor: Person, set_aside: SetAside, take_in: bool, note: str
) -> SetAsideAnswer:
    """Answer an event that was set aside, once, and return the answer.

    Taken in, it is recorded as its assessor's with its own id, epoch and seq, by the checks that
    every event passes; where something else of that assessor stands, in place of it. Raises
    PermissionDenied for anybody but a lead or an instructor of the run; Refused without a note,
    for a second answer, and where the event cannot be taken in now.
    """
    locked = SetAside.objects.select_for_update(of=("self",)).get(pk=set_aside.pk)
    if locked.pack is None or not may_assess(actor, locked.pack.run):
        raise PermissionDenied(_("Only a lead or an instructor of the run answers this."))
    note = note.strip()
    if not note:
        raise Refused(_("Write why."), field="note")
    if len(note) > LONGEST_NOTE or "\0" in note:
        raise Refused(
            _("Keep the note to {most} characters of text.").format(most=LONGEST_NOTE),
            field="note",
        )
    if SetAsideAnswer.objects.filter(set_aside=locked).exists():
        raise Refused(_("This was answered meanwhile. Look at the answer."))
    observation = _take_in(locked, locked.pack) if take_in else None
    answer = SetAsideAnswer.objects.create(
        set_aside=locked, observation=observation, note=note, by=actor
    )
    write_log(
        actor=actor,
        verb="set_aside.taken_in" if take_in else "set_aside.left_out",
        subject=locked,
        data={"event": locked.event_id, "reason": locked.reason, "note": note},
    )
    return answer


def why_not(set_aside: SetAside) -> str | None:
    """Return why the event cannot be taken in now, in a sentence; None where it can.

    It is tried, and undone.
    """
    assert set_aside.pack is not None
    try:
        with transaction.atomic():
            _take_in(set_aside, set_aside.pack)
            transaction.set_rollback(True)
    except Refused as refused:
        return refused.message
    return None


def stands_now(set_aside: SetAside) -> Observation | None:
    """Return what of the same assessor stands where this event would go (one query)."""
    body = set_aside.body
    subject = body.get("subject")
    if set_aside.reason not in IN_PLACE or not isinstance(subject, dict):
        return None
    return Observation.objects.filter(
        attempt=body["attempt"],
        assessor=set_aside.assessor,
        subject_kind=subject["kind"],
        subject_key=subject["key"],
        replaced_by__isnull=True,
    ).first()


def event_of(set_aside: SetAside) -> dict[str, Any]:
    """Return the event as it would be recorded now."""
    if set(set_aside.body) == {"json"}:
        raise Refused(_("What was sent cannot be read as an event: it can only be left out."))
    current = stands_now(set_aside)
    if set_aside.reason in IN_PLACE:
        return {**set_aside.body, "replaces": str(current.pk) if current else None}
    return dict(set_aside.body)


def _take_in(set_aside: SetAside, pack: Pack) -> Observation | None:
    """Record the event and return the observation; None for a photograph."""
    event = event_of(set_aside)
    assessor = set_aside.assessor
    _check_run(event, pack)
    try:
        if event.get("kind") == PHOTO:
            record_photo(pack, event)
            return None
        return record_observation(actor=assessor, event=event)
    except PermissionDenied:
        raise Refused(_(NO_LONGER).format(who=assessor)) from None


def _check_run(event: Mapping[str, Any], pack: Pack) -> None:
    named = event.get("attempt")
    try:
        attempt = uuid.UUID(named) if isinstance(named, str) else None
    except ValueError:
        attempt = None
    of_run = Attempt.objects.filter(enrolment__run=pack.run_id)
    if attempt is None or not of_run.filter(pk=attempt).exists():
        raise Refused(_("This run has no such attempt: it can only be left out."))
