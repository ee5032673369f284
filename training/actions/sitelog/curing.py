"""What cures under protection: from when, for how long, and when the protection came off."""

from datetime import datetime, timedelta

from django.db import transaction
from django.utils import timezone
from django.utils.translation import gettext as _

from training.actions.log import write_log
from training.actions.sitelog.guards import check_moment, require_keeper, tidy_grid
from training.errors import Refused
from training.models import CourseRun, Curing, MortarBatch, Person

LONGEST = 2160  # hours, 90 days; the database holds the same


@transaction.atomic
def begin_curing(
    *,
    actor: Person,
    run: CourseRun,
    what: str,
    grid: str,
    protection: str,
    started_at: datetime,
    hours: int,
    source: str,
    batch: MortarBatch | None = None,
) -> Curing:
    """Save and return that a repair cures; ``source`` names what asks for so many hours.

    Raises PermissionDenied for who does not keep the log; Refused, at its field, for what is
    left empty, a batch of another run or mixed later, and a moment or length that cannot be.
    """
    require_keeper(actor, run)
    check_moment(run, started_at, field="started_at")
    what, protection, source = (" ".join(text.split()) for text in (what, protection, source))
    for field, text, sentence in (
        ("what", what, _("Write what cures, such as the bedding of a dutchman.")),
        ("grid", grid.strip(), _("Write where on the elevation it is, such as C4.")),
        (
            "protection",
            protection,
            _("Write how it is protected, such as damp hessian under a sheet."),
        ),
        ("source", source, _("Name what asks for so many hours: data sheet or specification.")),
    ):
        if not text:
            raise Refused(sentence, field=field)
    if not 1 <= hours <= LONGEST:
        raise Refused(
            _("Write whole hours from 1 to {longest} (90 days).").format(longest=LONGEST),
            field="hours",
        )
    if batch is not None:
        _check_batch(run, batch, started_at)
    curing = Curing.objects.create(
        run=run,
        batch=batch,
        what=what,
        grid=tidy_grid(grid),
        protection=protection,
        started_at=started_at,
        hours=hours,
        source=source,
        by=actor,
    )
    write_log(
        actor=actor,
        verb="sitelog.curing_begun",
        subject=curing,
        data={"run": str(run.pk), "grid": curing.grid, "hours": hours},
    )
    return curing


@transaction.atomic
def end_curing(
    *, actor: Person, curing: Curing, at: datetime | None = None, early: bool = False
) -> Curing:
    """Record that the protection came off, now unless ``at`` is given.

    Raises PermissionDenied for who does not keep the log; Refused where that is recorded
    already, for a moment that cannot be, and, at ``early``, where the hours asked for are not
    over and ``early`` does not say that this is known.
    """
    require_keeper(actor, curing.run)
    curing = Curing.objects.select_for_update(of=("self",)).get(pk=curing.pk)
    if curing.ended_at is not None:
        raise Refused(_("It is recorded already that the protection came off."))
    moment = at or max(timezone.now(), curing.started_at)
    check_moment(curing.run, moment, field="at")
    if moment < curing.started_at:
        raise Refused(_("This is before the curing began: check the time."), field="at")
    passed = moment - curing.started_at
    short = passed < timedelta(hours=curing.hours)
    if short and not early:
        raise Refused(
            _(
                "Only {passed} of {hours} hours are over. Leave the "
                "protection on; or, if it came off all the same, tick that you know it is too "
                "early."
            ).format(passed=passed // timedelta(hours=1), hours=curing.hours),
            field="early",
        )
    curing.ended_at = moment
    curing.save(update_fields=["ended_at"])
    write_log(actor=actor, verb="sitelog.curing_ended", subject=curing, data={"early": short})
    return curing


def _check_batch(run: CourseRun, batch: MortarBatch, started_at: datetime) -> None:
    if batch.run_id != run.pk:
        raise Refused(
            _("This batch belongs to another run: choose one of this run."), field="batch"
        )
    if started_at < batch.mixed_at:
        raise Refused(
            _("Batch {batch_label} was mixed only later: check the time or the batch.").format(
                batch_label=batch.label
            ),
            field="started_at",
        )
