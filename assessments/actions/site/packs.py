"""Taking a course run up to the scaffold, and the token that sends down what is scored there.

A pack is one run on one device for one assessor. Its token is a signed name of the pack: with
it a device sends events and photographs, as the assessor, and does nothing else. What comes is
judged when it comes, so the token gives nobody an authority that the assessor no longer has.
"""

import uuid
from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

from django.core import signing
from django.core.exceptions import PermissionDenied
from django.db import transaction
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop as N_

from assessments.actions.attempts import cannot_start, start_attempt
from assessments.models import Attempt, Pack
from assessments.queries.attempts import standings
from assessments.queries.scope import may_assess
from training.actions.log import write_log
from training.errors import Refused
from training.models import CourseRun, Person
from training.queries.scope import is_lead

SALT = "bankermark.pack"
# So long after the run's last day a device can still send what was scored on it: two weeks for
# a phone that lay in a site box over a holiday.
SENDING_DAYS = 14
ONLY_ASSESSORS = N_("Only a lead or an instructor of the run takes it up.")
NOBODY = N_(
    "Nobody on this run has an open attempt that you may score: enrol a trainee, or "
    "start an attempt on the page of the run."
)


class TokenRefused(Refused):
    """A token that opens no pack; the message says what to do."""


@transaction.atomic
def take_pack(
    *, actor: Person, run: CourseRun, device: uuid.UUID, start_attempts: bool = True
) -> Pack:
    """Take ``run`` up on ``device`` as ``actor`` and return the pack.

    With ``start_attempts`` each enrolled trainee who has had no attempt yet gets the first; a
    further one is started on the page of the run, and nobody without the papers that the
    practical task asks for gets one: the device says why. The pack that the device holds already is
    returned again, with its expiry set anew. Raises PermissionDenied for anybody but a lead or
    an instructor of the run; Refused when the run is not open, an attempt cannot start, or
    nobody has an open attempt to score.
    """
    if not may_assess(actor, run):
        raise PermissionDenied(_(ONLY_ASSESSORS))
    if run.state != CourseRun.State.OPEN:
        raise Refused(
            _("This course run is {state}: it is taken up only while it is open.").format(
                state=run.get_state_display().lower()
            ),
            field="run",
        )
    if start_attempts:
        _start_attempts(actor, run)
    if not _scorable(actor, run):
        raise Refused(" ".join([_(NOBODY), *_held_back(run)]), field="run")
    now = timezone.now()
    held = Pack.objects.filter(
        run=run, assessor=actor, device=device, closed_at=None, expires_at__gt=now
    ).first()
    pack = held or Pack(run=run, assessor=actor, device=device, taken_at=now)
    pack.expires_at = _expiry(run, now)
    pack.save()
    _log(actor, "pack.taken", pack)
    return pack


@transaction.atomic
def renew_pack(*, actor: Person, pack: Pack) -> Pack:
    """Set the expiry of the actor's own pack anew and return it, so that it can send again.

    Whether the actor still assesses the run does not matter here: what was scored comes down
    all the same, and is kept aside where it cannot be taken in. Raises PermissionDenied for
    somebody else's pack, Refused for a closed one.
    """
    locked = (
        Pack.objects.select_for_update(of=("self",)).select_related("run__site").get(pk=pack.pk)
    )
    if locked.assessor_id != actor.pk:
        raise PermissionDenied(_("Only who took the run up renews it."))
    if locked.closed_at is not None:
        raise Refused(CLOSED)
    locked.expires_at = _expiry(locked.run, timezone.now())
    locked.save(update_fields=["expires_at"])
    _log(actor, "pack.renewed", locked)
    return locked


@transaction.atomic
def close_pack(*, actor: Person, pack: Pack) -> Pack:
    """Close the pack, such as that of a lost device: its token sends nothing any more.

    Its assessor and a lead of the provider may; closing again changes nothing. Raises
    PermissionDenied for anybody else.
    """
    locked = (
        Pack.objects.select_for_update(of=("self",)).select_related("run__program").get(pk=pack.pk)
    )
    provider = locked.run.program.provider
    if locked.assessor_id != actor.pk and not is_lead(actor, provider):
        raise PermissionDenied(_("Only who took the run up, or a training lead, closes this."))
    if locked.closed_at is None:
        locked.closed_at = timezone.now()
        locked.save(update_fields=["closed_at"])
        _log(actor, "pack.closed", locked)
    return locked


CLOSED = N_(
    "What this device took up was closed. Nothing on it is lost: save the file of what is not "
    "sent yet, and a training lead reads it in at the desk."
)
EXPIRED = N_(
    "This device may no longer send. Sign in on it and renew the pack, then it sends again."
)
UNKNOWN = N_("The server does not know this pack. Sign in, renew the pack, and send again.")


def token_of(pack: Pack) -> str:
    """Return the token with which a device sends for ``pack``."""
    return signing.dumps({"pack": str(pack.pk)}, salt=SALT)


def pack_of(token: str) -> Pack:
    """Return the pack of a token, its run and assessor loaded.

    Raises TokenRefused for a token that was not signed here, a closed pack and an expired one.
    """
    try:
        named = signing.loads(token, salt=SALT)
        pack = Pack.objects.select_related("run", "assessor").get(pk=uuid.UUID(named["pack"]))
    except (signing.BadSignature, Pack.DoesNotExist):
        raise TokenRefused(UNKNOWN) from None
    if pack.closed_at is not None:
        raise TokenRefused(CLOSED)
    if pack.expires_at <= timezone.now():
        raise TokenRefused(EXPIRED)
    return pack


def hold_open(pack: Pack) -> None:
    """Keep ``pack`` from being closed, in this transaction; raise TokenRefused where it was."""
    held = Pack.objects.select_for_update(no_key=True).values_list("closed_at", flat=True)
    if held.get(pk=pack.pk) is not None:
        raise TokenRefused(CLOSED)


def _start_attempts(actor: Person, run: CourseRun) -> None:
    for row in standings(run):
        # Another go after a decision is agreed on and started at the desk, never in passing.
        first = row.may_start and not row.attempts and not row.missing
        if first and row.enrolment.person_id != actor.pk:
            try:
                start_attempt(actor=actor, enrolment=row.enrolment)
            except Refused:
                # Somebody else may have started it since the list was read.
                if not row.enrolment.attempts.filter(state=Attempt.State.OPEN).exists():
                    raise


def _held_back(run: CourseRun) -> list[str]:
    return [
        cannot_start(row.enrolment.person, row.missing)
        for row in standings(run)
        if row.may_start and row.missing
    ]


def _scorable(actor: Person, run: CourseRun) -> bool:
    attempts = Attempt.objects.filter(enrolment__run=run, state=Attempt.State.OPEN)
    return attempts.exclude(enrolment__person=actor).exists()


def _expiry(run: CourseRun, now: datetime) -> datetime:
    """Return the end of the run's last day at its site, SENDING_DAYS later.

    A run that is scored beyond its last day counts as lasting until today.
    """
    zone = ZoneInfo(run.site.time_zone)
    last = max(run.ends_on, now.astimezone(zone).date())
    after = last + timedelta(days=SENDING_DAYS + 1)
    return datetime(after.year, after.month, after.day, tzinfo=zone)


def _log(actor: Person, verb: str, pack: Pack) -> None:
    write_log(
        actor=actor,
        verb=verb,
        subject=pack,
        data={
            "run": str(pack.run_id),
            "assessor": pack.assessor_id,
            "device": str(pack.device),
            "expires_at": pack.expires_at.isoformat(),
        },
    )
