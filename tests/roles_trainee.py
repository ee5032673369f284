"""The objects of a second look that ``tests/test_roles.py`` asks each role about."""

from typing import Any

from django.utils import timezone

from assessments.models import Attempt, PlanItem, PracticePiece, PracticePlan
from training.models import Passkey

# Which address takes which of the objects: names by the kind of what they are about.
OF_ATTEMPT: tuple[str, ...] = ("attempt_acknowledge",)


def second_look_of(attempt: Attempt) -> dict[str, Any]:
    """Return one of everything that may follow the result of ``attempt``."""
    person = attempt.enrolment.person
    return {
        "passkey": Passkey.objects.create(
            person=person, name="Phone", credential_id=b"\x01", public_key=b"\x02"
        ),
        **practice_of(attempt),
    }


def practice_of(attempt: Attempt) -> dict[str, Any]:
    """Return a practice plan with its item, and a practice piece."""
    teacher = attempt.started_by
    plan = PracticePlan.objects.create(attempt=attempt, proposed_by=teacher)
    return {
        "plan": plan,
        "plan_item": PlanItem.objects.create(
            plan=plan, position=0, text="Cut three arrises.", by_day=timezone.localdate()
        ),
        "practice_piece": PracticePiece.objects.create(
            enrolment=attempt.enrolment,
            standard=attempt.standard,
            title="Sill, second try",
            made_on=timezone.localdate(),
            recorded_by=teacher,
        ),
    }


def second_look_objects(world: dict[str, Any]) -> dict[str, dict[str, object]]:
    """Return the arguments of the addresses, by name."""
    return {
        **{name: {"pk": world["attempt"].pk} for name in OF_ATTEMPT},
        "attempt_example": {"pk": world["attempt"].pk, "photo": world["log_photo"].pk},
        "plan_agree": {"pk": world["plan"].pk},
        "plan_item_done": {"pk": world["plan_item"].pk},
        "progress": {"pk": world["enrolment"].pk},
        "practice_piece_new": {"pk": world["enrolment"].pk},
        "practice_piece": {"pk": world["practice_piece"].pk},
        "practice_score": {"pk": world["practice_piece"].pk, "key": "arris"},
        "sign_in_link": {"token": "no-token"},
        "outside_contact": {"pk": world["run"].program.provider_id},
        "passkey_remove": {"pk": world["passkey"].pk},
    }
