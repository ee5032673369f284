"""The objects of a second look that ``tests/test_roles.py`` asks each role about."""

from datetime import timedelta
from typing import Any

from django.core.files.base import ContentFile
from django.utils import timezone

from assessments.actions.reviews import ask_review
from assessments.models import Attempt, PlanItem, PracticePiece, PracticePlan, ReviewPhoto
from certificates.models import OwnLink
from tests.assessments.site.pictures import jpeg
from training.digests import secret_digest
from training.models import Passkey

OWN_TOKEN = "own-token"

# Which address takes which of the objects: names by the kind of what they are about.
OF_REVIEW = (
    "review", "review_take_back", "review_give", "review_step_down", "review_rest",
    "review_finish", "review_answer",
)  # fmt: skip
OF_ATTEMPT: tuple[str, ...] = (
    "review_ask",
    "attempt_acknowledge",
    "attempt_retake",
    "retake_day",
    "retake_day_give_up",
)


def second_look_of(attempt: Attempt) -> dict[str, Any]:
    """Return one of everything that may follow the result of ``attempt``."""
    person = attempt.enrolment.person
    return {
        "passkey": Passkey.objects.create(
            person=person, name="Phone", credential_id=b"\x01", public_key=b"\x02"
        ),
        "own_link": OwnLink.objects.create(
            holder=person,
            recipient="Port Ellery Works",
            token_sha256=secret_digest(OWN_TOKEN),
            expires_at=timezone.now() + timedelta(days=30),
        ),
        **practice_of(attempt),
        "review_photo": review_of(attempt),
    }


def review_of(attempt: Attempt) -> ReviewPhoto:
    """Return the photograph of a review that the trainee asked for."""
    review = ask_review(
        actor=attempt.enrolment.person, attempt=attempt, reason="Look at the arris again."
    )
    photo = ReviewPhoto(review=review, sha256="0" * 64)
    photo.file.save("handed.jpg", ContentFile(jpeg()), save=False)
    photo.save()
    return photo


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
        **{name: {"pk": world["review_photo"].review_id} for name in OF_REVIEW},
        "review_criterion": {"pk": world["review_photo"].review_id, "key": "arris"},
        "review_photo": {
            "pk": world["review_photo"].review_id,
            "kind": "handed",
            "photo": world["review_photo"].pk,
        },
        "attempt_example": {"pk": world["attempt"].pk, "photo": world["log_photo"].pk},
        "plan_agree": {"pk": world["plan"].pk},
        "plan_item_done": {"pk": world["plan_item"].pk},
        "progress": {"pk": world["enrolment"].pk},
        "practice_piece_new": {"pk": world["enrolment"].pk},
        "practice_piece": {"pk": world["practice_piece"].pk},
        "practice_score": {"pk": world["practice_piece"].pk, "key": "arris"},
        "sign_in_link": {"token": "no-token"},
        "own_link_end": {"pk": world["own_link"].pk},
        "shown": {"token": OWN_TOKEN},
        **{
            name: {"token": OWN_TOKEN, "number": "0000-0000-0000-0000"}
            for name in ("shown_pdf", "shown_competency")
        },
        "outside_contact": {"pk": world["run"].program.provider_id},
        "passkey_remove": {"pk": world["passkey"].pk},
    }
