"""Issuing one record of a job, as often as it takes: nothing is doubled, nothing is lost."""

import logging

from django.core.exceptions import PermissionDenied
from django.db import transaction
from django.utils import timezone
from django.utils.translation import override

from certificates.actions.issue import issue_record
from certificates.actions.notify import tell_holder
from certificates.models import IssueItem, Record
from training.errors import Refused

log = logging.getLogger(__name__)

TRIES = 5
# Kept with the item, so in one language; certificates.record_wording knows it.
GIVEN_UP = (
    f"This was begun {TRIES} times and never came to an end. Whoever runs the server finds the "
    "reason in the log of the workers; ask for the record again once it is mended."
)


def issue_item(item_id: int) -> None:
    """Issue the record of an item and note what became of it; does nothing to a finished one.

    A worker may be killed at any moment, and two may meet at one item: ``issue_record`` gives
    the record that is there, so a second go finds it. What a person can mend is noted as a
    sentence; any other error is raised, and the item is taken up again later.
    """
    item = _begin(item_id)
    if item is None:
        return
    actor = item.job.asked_by
    made_before = item.tries > 1 and _made_by_an_earlier_try(item)
    try:
        # What is refused is kept with the item, so in one language.
        with override("en"):
            record = issue_record(actor=actor, decision=item.decision)
    except Refused as refused:
        _finish(item_id, sentence=refused.message)
    except PermissionDenied:
        _finish(item_id, sentence=f"{actor} neither leads nor teaches this run any longer.")
    else:
        if made_before:
            # Whether the worker that was killed still told the holder is not known: twice is
            # better than never.
            _tell(record)
        _finish(item_id, record=record)


def _begin(item_id: int) -> IssueItem | None:
    """Return the item, marked as being worked on; None when there is nothing to do.

    The row is locked for this moment alone. A worker that finds it locked leaves it to the
    other one.
    """
    with transaction.atomic():
        item = (
            IssueItem.objects.select_for_update(of=("self",), skip_locked=True)
            .select_related("job__asked_by", "decision")
            .filter(pk=item_id, state__in=IssueItem.UNFINISHED)
            .first()
        )
        if item is None:
            return None
        if item.tries >= TRIES:
            log.error("issue item %s was begun %s times: given up", item_id, item.tries)
            item.state, item.sentence = IssueItem.State.REFUSED, GIVEN_UP
        else:
            item.state, item.tries = IssueItem.State.WORKING, item.tries + 1
        item.changed_at = timezone.now()
        item.save(update_fields=["state", "tries", "sentence", "changed_at"])
    return item if item.state == IssueItem.State.WORKING else None


def _made_by_an_earlier_try(item: IssueItem) -> bool:
    return Record.objects.filter(
        decision=item.decision,
        issued_by=item.job.asked_by,
        # The time of issue is kept in whole seconds.
        issued_at__gte=item.job.asked_at.replace(microsecond=0),
    ).exists()


def _tell(record: Record) -> None:
    try:
        tell_holder(record)
    except OSError:
        log.exception("the holder of record %s could not be told", record.number)


def _finish(item_id: int, *, record: Record | None = None, sentence: str = "") -> None:
    """Note the end, unless another worker noted that the record was issued."""
    state = IssueItem.State.ISSUED if record else IssueItem.State.REFUSED
    with transaction.atomic():
        item = IssueItem.objects.select_for_update().get(pk=item_id)
        if item.state == IssueItem.State.ISSUED:
            return
        item.state, item.record, item.sentence = state, record, sentence
        item.changed_at = timezone.now()
        item.save(update_fields=["state", "record", "sentence", "changed_at"])
