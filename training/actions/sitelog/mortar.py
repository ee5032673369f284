"""Batches of mortar and grout: how long each may be worked, and that the rest was thrown away."""

from datetime import datetime

from django.db import transaction
from django.utils import timezone
from django.utils.translation import gettext as _

from training.actions.log import write_log
from training.actions.sitelog.guards import check_moment, require_keeper
from training.errors import Refused
from training.models import CourseRun, MortarBatch, Person

LONGEST_LIFE = 7 * 24 * 60  # minutes; the database holds the same


@transaction.atomic
def mix_batch(
    *,
    actor: Person,
    run: CourseRun,
    label: str,
    mix: str,
    mixed_at: datetime,
    working_minutes: int,
    source: str,
) -> MortarBatch:
    """Save and return a batch; ``source`` names the data sheet that tells its working life.

    Raises PermissionDenied for who does not keep the log; Refused, at its field, for what is
    left empty, a label that the run has already, or a moment or life that cannot be.
    """
    require_keeper(actor, run)
    check_moment(run, mixed_at, field="mixed_at")
    label, mix, source = (" ".join(text.split()) for text in (label, mix, source))
    for field, text, sentence in (
        ("label", label, _("Give the batch a label that is written on its bucket, such as B1.")),
        ("mix", mix, _("Write what was mixed, and in which parts.")),
        ("source", source, _("Name the data sheet that the working life comes from.")),
    ):
        if not text:
            raise Refused(sentence, field=field)
    if not 1 <= working_minutes <= LONGEST_LIFE:
        raise Refused(
            _(
                "Write the working life in whole minutes from 1 to {longest_life} (7 days), as the "
                "data sheet tells it."
            ).format(longest_life=LONGEST_LIFE),
            field="working_minutes",
        )
    CourseRun.objects.select_for_update(of=("self",), no_key=True).get(pk=run.pk)
    if run.batches.filter(label__iexact=label).exists():
        raise Refused(
            _("This run has a batch {label} already: give this one another label.").format(
                label=label
            ),
            field="label",
        )
    batch = MortarBatch.objects.create(
        run=run,
        label=label,
        mix=mix,
        mixed_at=mixed_at,
        working_minutes=working_minutes,
        source=source,
        by=actor,
    )
    write_log(
        actor=actor,
        verb="sitelog.batch_mixed",
        subject=batch,
        data={"run": str(run.pk), "label": label, "working_minutes": working_minutes},
    )
    return batch


@transaction.atomic
def discard_batch(*, actor: Person, batch: MortarBatch, at: datetime | None = None) -> MortarBatch:
    """Record that what was left of a batch is thrown away or used up, now unless ``at`` is given.

    Raises PermissionDenied for who does not keep the log; Refused where that is recorded
    already, or ``at`` lies before it was mixed or in the future.
    """
    require_keeper(actor, batch.run)
    batch = MortarBatch.objects.select_for_update(of=("self",)).get(pk=batch.pk)
    if batch.discarded_at is not None:
        raise Refused(
            _("It is recorded already that nothing is left of batch {batch_label}.").format(
                batch_label=batch.label
            )
        )
    moment = at or max(timezone.now(), batch.mixed_at)
    check_moment(batch.run, moment, field="at")
    if moment < batch.mixed_at:
        raise Refused(_("This is before the batch was mixed: check the time."), field="at")
    batch.discarded_at = moment
    batch.save(update_fields=["discarded_at"])
    write_log(actor=actor, verb="sitelog.batch_discarded", subject=batch)
    return batch
