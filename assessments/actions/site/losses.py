"""That a device found less on it than it had stored: told once, kept, and answered once."""

import uuid
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.core.exceptions import PermissionDenied
from django.db import transaction
from django.utils.translation import gettext as _

from assessments.actions.events import LARGEST_SEQ, time_at, uuid_at
from assessments.actions.site.packs import hold_open
from assessments.models import DeviceLoss, DeviceLossAnswer, Pack
from assessments.queries.scope import may_assess
from training.actions.log import write_log
from training.errors import Refused
from training.models import Person

LONGEST_NOTE = 2000
FIELDS = ("device", "epoch", "last", "found", "unsent", "found_at")


@dataclass(frozen=True, slots=True)
class Loss:
    """What the device says: the last number it gave out, the last it found, how many unsent."""

    device: uuid.UUID
    epoch: uuid.UUID
    last: int
    found: int
    unsent: int
    found_at: datetime


def read_loss(sent: Mapping[str, Any]) -> Loss:
    """Return a loss as the device tells it; raise Refused, naming the field, for another shape.

    The fields are ``device``, ``epoch`` (UUIDs), ``last``, ``found``, ``unsent`` (whole numbers
    from 0, ``found`` below ``last``) and ``found_at`` (ISO 8601 with offset).
    """
    for name in FIELDS:
        if name not in sent:
            raise Refused(_("The loss has no {name}.").format(name=name), field=name)
    for name in sent:
        if name not in FIELDS:
            raise Refused(_("A loss has no field {name}.").format(name=name), field=name)
    last, found = _count(sent, "last"), _count(sent, "found")
    if found >= last:
        raise Refused(_("Nothing is lost: found must be below last."), field="found")
    return Loss(
        device=uuid_at(sent, "device"),
        epoch=uuid_at(sent, "epoch"),
        last=last,
        found=found,
        unsent=_count(sent, "unsent"),
        found_at=time_at(sent, "found_at"),
    )


@transaction.atomic
def record_loss(pack: Pack, sent: Mapping[str, Any]) -> DeviceLoss:
    """Keep a loss that the device of ``pack`` tells of, once; told again changes nothing.

    Raises TokenRefused where the pack was closed meanwhile.
    """
    loss = read_loss(sent)
    hold_open(pack)
    recorded, new = DeviceLoss.objects.get_or_create(
        epoch=loss.epoch,
        last_seq=loss.last,
        found_seq=loss.found,
        defaults={
            "pack": pack,
            "assessor": pack.assessor,
            "device": loss.device,
            "unsent": loss.unsent,
            "found_at": loss.found_at,
        },
    )
    if new:
        write_log(
            actor=pack.assessor,
            verb="device.lost",
            subject=recorded,
            data={"last": loss.last, "found": loss.found, "unsent": loss.unsent},
        )
    return recorded


@transaction.atomic
def answer_loss(*, actor: Person, loss: DeviceLoss, note: str) -> DeviceLossAnswer:
    """Write down, once, what was done about a loss, and return the answer.

    Raises PermissionDenied for anybody but a lead or an instructor of the run; Refused without
    a note and for a second answer.
    """
    locked = DeviceLoss.objects.select_for_update(of=("self",)).get(pk=loss.pk)
    if locked.pack is None or not may_assess(actor, locked.pack.run):
        raise PermissionDenied(_("Only a lead or an instructor of the run answers this."))
    note = note.strip()
    if not note:
        raise Refused(_("Write what was done."), field="note")
    if len(note) > LONGEST_NOTE or "\0" in note:
        raise Refused(
            _("Keep the note to {most} characters of text.").format(most=LONGEST_NOTE),
            field="note",
        )
    if DeviceLossAnswer.objects.filter(loss=locked).exists():
        raise Refused(_("This was answered meanwhile. Look at the answer."))
    answer = DeviceLossAnswer.objects.create(loss=locked, note=note, by=actor)
    write_log(actor=actor, verb="device.loss_answered", subject=locked, data={"note": note})
    return answer


def _count(sent: Mapping[str, Any], name: str) -> int:
    value = sent[name]
    if not isinstance(value, int) or isinstance(value, bool) or not 0 <= value <= LARGEST_SEQ:
        raise Refused(
            _("The loss's {name} must be a whole number from 0.").format(name=name), field=name
        )
    return value
