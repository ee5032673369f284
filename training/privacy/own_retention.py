"""What of this app, and of the packages below it, is over when."""

from datetime import datetime

from axes.models import AccessAttempt, AccessFailureLog, AccessLog
from django.contrib.sessions.models import Session
from django_tasks_db.models import DBTaskResult

from training.models import (
    HeldDocument,
    PersonFeed,
    Reaction,
    SignInAsked,
    SignInCode,
    SignInLink,
)
from training.privacy.erasable import GONE, erase_rows
from training.privacy.retention import Over, deleted, retention_rule


@retention_rule("sign_in_codes")
def codes(before: datetime, only_look: bool) -> Over:
    """Codes on the wall that ended."""
    return deleted(SignInCode.objects.filter(valid_until__lt=before), only_look)


@retention_rule("papers")
def papers(before: datetime, only_look: bool) -> Over:
    """Files of papers that expired."""
    rows = HeldDocument.objects.filter(expires_on__lt=before.date()).exclude(file__in=("", GONE))
    return Over(*erase_rows(rows, only_look=only_look))


@retention_rule("reactions")
def reactions(before: datetime, only_look: bool) -> Over:
    """Free text of reactions."""
    rows = Reaction.objects.filter(on__lt=before.date())
    return Over(*erase_rows(rows, only_look=only_look))


@retention_rule("calendars")
def calendars(before: datetime, only_look: bool) -> Over:
    """Addresses of sessions that were taken back."""
    return deleted(PersonFeed.objects.filter(revoked_at__lt=before), only_look)


@retention_rule("sign_in_links")
def links(before: datetime, only_look: bool) -> Over:
    """Links sent by e-mail that ended, and how often any were asked for."""
    asked = deleted(SignInAsked.objects.filter(at__lt=before), only_look)
    ended = deleted(SignInLink.objects.filter(expires_at__lt=before), only_look)
    return Over(asked.rows + ended.rows)


@retention_rule("signing_in")
def signing_in(before: datetime, only_look: bool) -> Over:
    """Tries to sign in."""
    models = (AccessAttempt, AccessFailureLog, AccessLog)
    rows = [model.objects.filter(attempt_time__lt=before) for model in models]
    return Over(sum(deleted(each, only_look).rows for each in rows))


@retention_rule("sessions")
def sessions(before: datetime, only_look: bool) -> Over:
    """Sign-ins that ended."""
    return deleted(Session.objects.filter(expire_date__lt=before), only_look)


@retention_rule("tasks")
def tasks(before: datetime, only_look: bool) -> Over:
    """What a worker has done."""
    return deleted(DBTaskResult.objects.filter(finished_at__lt=before), only_look)
