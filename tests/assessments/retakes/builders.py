"""A yard whose standard has a rule of retake, and an attempt that left one stage open."""

from datetime import timedelta
from typing import Any

from django.utils import timezone

from assessments.actions.decisions import sign_off
from assessments.models import Attempt, Decision
from tests.assessments.builders import Yard, make_yard, score_all
from tests.triggers import lifted

RULE = {"after_days": 7, "most": 3, "scope": "open_stages"}
SEEN = "Dry fit looked at: nothing has moved, the joint is as it was."


def yard_with(**rule: Any) -> Yard:
    """Return a yard whose standard holds RULE, with the changes given."""
    return make_yard(about={"retake": {**RULE, **rule}})


def decided(yard: Yard, **changes: dict[str, object] | None) -> Decision:
    """Score an attempt, GOOD but for the changes (C3 not met without any), and sign it off."""
    attempt = yard.attempt()
    score_all(attempt, yard.instructor, **(changes or {"C3": {"answer": False}}))
    note = "Rain." if None in changes.values() else ""
    return sign_off(actor=yard.instructor, attempt=attempt, password_checked=True, note=note)


def days_ago(decision: Decision, days: int) -> Attempt:
    """Put the decision so many days back, as if they had gone by; return its attempt."""
    with lifted("assessments_decision"):
        Decision.objects.filter(pk=decision.pk).update(
            decided_at=timezone.now() - timedelta(days=days)
        )
    return Attempt.objects.get(pk=decision.attempt_id)


def failed_yard(days: int = 7, **rule: Any) -> tuple[Yard, Attempt]:
    """Return a yard with an attempt not met so many days ago: ``set`` is open, ``fit`` stands."""
    yard = yard_with(**rule)
    return yard, days_ago(decided(yard), days)
