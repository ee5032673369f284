"""The code on the wall by which trainees sign in to a session."""

import re
import secrets
from datetime import datetime, timedelta

from django.db import transaction
from django.utils import timezone

from training.actions.attendance import check_open, require_noting
from training.models import Person, Session, SignInCode

# Without signs that are taken for each other: 0 O, 1 I L, 2 Z, 5 S, 8 B, U V.
LETTERS = "34679ACDEFGHJKMNPQRTWXY"
LENGTH = 8  # 23^8 codes, of which a few hold at a time and only for those enrolled
HOLDS = timedelta(minutes=10)
RENEWED = timedelta(minutes=5)  # left of a code when the next one is shown


@transaction.atomic
def current_code(*, actor: Person, session: Session, now: datetime | None = None) -> SignInCode:
    """Return the code to show on the wall now, made anew where the last one ends soon.

    The one before goes on to hold until its own end, so that whoever has scanned it can finish.
    Raises PermissionDenied for anybody but a lead or an instructor of the run, and Refused
    outside of the hours in which the session takes sign-ins.
    """
    now = now or timezone.now()
    require_noting(actor, session.run)
    check_open(session, now)
    Session.objects.select_for_update(no_key=True).get(pk=session.pk)
    shown = session.codes.filter(valid_until__gt=now + RENEWED).order_by("-valid_until").first()
    if shown is not None:
        return shown
    token = "".join(secrets.choice(LETTERS) for _ in range(LENGTH))
    return SignInCode.objects.create(
        session=session, token=token, made_by=actor, made_at=now, valid_until=now + HOLDS
    )


def code_of(typed: str) -> SignInCode | None:
    """Return the code that was scanned or typed, whether or not it still holds (one query)."""
    token = re.sub(r"[\s.–-]", "", typed).upper()
    codes = SignInCode.objects.select_related("session__run__site", "session__run__program")
    if len(token) != LENGTH or not set(token) <= set(LETTERS):
        return None
    return codes.filter(token=token).first()
