"""Every page of what follows a result, with plain rows behind it; all names are invented."""

from dataclasses import dataclass
from datetime import timedelta
from typing import Any

from django.core.files.base import ContentFile
from django.urls import reverse
from django.utils import timezone

from assessments.actions.practice_plans import agree_plan
from assessments.actions.retakes import arrange_retake, start_retake
from assessments.models import Attempt, Review, ReviewPhoto
from certificates.actions.own_links import make_own_link
from certificates.models import Record, RecordLook
from tests.assessments.builders import Yard, readings
from tests.assessments.progress import builders as practice
from tests.assessments.retakes.builders import RULE, days_ago
from tests.assessments.reviews import builders as reviews
from tests.assessments.site.pictures import jpeg
from tests.certificates.builders import record_row
from training.actions.complaints import make_complaint
from training.actions.pins import set_pin
from training.digests import secret_digest
from training.models import Complaint, Passkey, Person, SignInLink

REASON = "The joint was looked at in the rain, and the arris was not seen at all."
# Nothing here fits: what a number line and a sentence do when most is wrong.
BAD: dict[str, Any] = {
    "C1": {"level": 0},
    "C2": readings(('1/4"', "1/4", "in"), ("4 mm", "4", "mm")),
    "C3": {"answer": False},
    "C4": {"count": 3},
}


@dataclass(frozen=True)
class Shown:
    """A page as one person sees it; nobody is signed in where ``person`` is None."""

    name: str
    person: Person | None
    path: str


def shown(name: str, person: Person | None, of: str, *args: object) -> Shown:
    """Return the page at the address ``of`` with its arguments."""
    return Shown(name, person, reverse(of, args=args))


def every_page() -> list[Shown]:
    """Return every page of a second look, in a fixed order; writes what they need."""
    met = reviews.decided({"ask_within_days": 30, "answer_within_days": 20})
    return [
        *_signing_in(met.yard),
        *_of_results(met),
        *_of_practice(),
        *_of_retakes(),
        *_of_reviews(met),
        *_of_records(record_row(met.decision)),
        *_of_complaints(met.yard),
    ]


def _signing_in(yard: Yard) -> list[Shown]:
    person, token = yard.trainee, "a-token-of-the-tests"
    now = timezone.now()
    SignInLink.objects.create(
        person=person,
        token_sha256=secret_digest(token),
        made_at=now,
        expires_at=now + timedelta(minutes=15),
    )
    Passkey.objects.create(
        person=person, name="Phone of the yard", credential_id=b"\x01", public_key=b"\x02"
    )
    set_pin(person=person, pin="482915", again="482915")
    return [
        shown("sign in", None, "sign_in"),
        shown("ask for a link", None, "sign_in_link_ask"),
        shown("link sent", None, "sign_in_link_sent"),
        shown("link opened", None, "sign_in_link", token),
        shown("link gone", None, "sign_in_link", "no-token"),
        shown("account", person, "account"),
        shown("account without anything", yard.instructor, "account"),
        shown("PIN", person, "account_pin"),
        shown("PIN, the first", yard.instructor, "account_pin"),
        shown("passkey", person, "passkey_new"),
    ]


def _of_results(met: reviews.Decided) -> list[Shown]:
    yard, attempt = met.yard, met.attempt.pk
    return [
        shown("result met", yard.trainee, "attempt", attempt),
        shown("result met, instructor", yard.instructor, "attempt", attempt),
        shown("my results", yard.trainee, "my_results"),
        shown("acknowledge", yard.trainee, "attempt_acknowledge", attempt),
        shown("acknowledge, with the PIN", yard.instructor, "attempt_acknowledge", attempt),
        shown("plan of a result met", yard.trainee, "attempt_plan", attempt),
    ]


def _of_practice() -> list[Shown]:
    yard = practice.practice_yard(about={"retake": RULE})
    attempt = practice.decided(yard, **BAD)
    plan = practice.proposed(yard, attempt, yard.instructor, item={"criterion": "C1"})
    today = practice.today(yard)
    for days, level in ((2, 0), (1, 1), (0, 2)):
        day = today - timedelta(days=days)
        piece = practice.piece(yard, day, C1={"level": level}, C2=BAD["C2"], C4={"count": days})
    pages = [
        shown("first page of a trainee", yard.trainee, "home"),
        shown("result not met", yard.trainee, "attempt", attempt.pk),
        shown("plan proposed", yard.trainee, "attempt_plan", attempt.pk),
        shown("propose a plan", yard.trainee, "attempt_plan_propose", attempt.pk),
        shown("practice piece", yard.trainee, "practice_piece", piece.pk),
        shown("practice piece, instructor", yard.instructor, "practice_piece", piece.pk),
        shown("new practice piece", yard.instructor, "practice_piece_new", yard.enrolment.pk),
        *(
            shown(f"score {key}", yard.instructor, "practice_score", piece.pk, key)
            for key in ("C1", "C2", "C3", "C4", "C5")
        ),
        shown("progress", yard.trainee, "progress", yard.enrolment.pk),
        shown("progress of the run", yard.instructor, "run_progress", yard.run.pk),
        shown("run", yard.instructor, "run", yard.run.pk),
    ]
    other = practice.decided(yard_again := practice.practice_yard(), **BAD)
    agreed = practice.proposed(yard_again, other, yard_again.instructor, item={"criterion": "C3"})
    agree_plan(actor=yard_again.trainee, plan=agreed)
    assert plan.attempt_id != agreed.attempt_id
    return [*pages, shown("plan agreed", yard_again.trainee, "attempt_plan", other.pk)]


def _of_retakes() -> list[Shown]:
    yard = practice.practice_yard(about={"retake": RULE})
    early = practice.decided(yard)
    soon = shown("retake, too early", yard.instructor, "attempt_retake", early.pk)
    late = practice.practice_yard(about={"retake": RULE})
    attempt = _ripe(late)
    arrange_retake(
        actor=late.instructor,
        attempt=attempt,
        day=practice.today(late) + timedelta(days=3),
        place="Yard, bay 3, beside the saw shed",
    )
    third = practice.practice_yard(about={"retake": RULE})
    of = _ripe(third)
    again = start_retake(
        actor=third.instructor, attempt=of, whole=False, stands="Nothing has moved."
    )
    return [
        soon,
        shown("retake", late.instructor, "attempt_retake", attempt.pk),
        shown("result with a retake to come", late.trainee, "attempt", attempt.pk),
        shown("retake begun", third.instructor, "attempt_score", again.pk),
        shown("retake under way", third.trainee, "attempt", again.pk),
        shown("results with a retake", third.trainee, "my_results"),
    ]


def _ripe(yard: Yard) -> Attempt:
    return days_ago(practice.decided(yard).decisions.get(), 8)


def _of_reviews(met: reviews.Decided) -> list[Shown]:
    asked = reviews.decided()
    review = reviews.asked(asked, reason=REASON)
    _handed_in(review)
    given = reviews.decided()
    at_work = reviews.given(given)
    _handed_in(at_work)
    scored = reviews.decided()
    compared = reviews.scored(scored, C1={"level": 1}, C4=None)
    changed = reviews.decided(C3={"answer": False})
    answered = reviews.answered(changed, Review.Outcome.CHANGED)
    me = given.reviewer
    return [
        shown("ask for a review", met.yard.trainee, "review_ask", met.attempt.pk),
        shown("review not asked for twice", asked.yard.trainee, "review_ask", asked.attempt.pk),
        shown("reviews", asked.yard.lead, "reviews"),
        shown("reviews of a trainee", asked.yard.trainee, "reviews"),
        shown("review, trainee", asked.yard.trainee, "review", review.pk),
        shown("review, lead", asked.yard.lead, "review", review.pk),
        shown("give a review", asked.yard.lead, "review_give", review.pk),
        shown("blind sheet", me, "review", at_work.pk),
        *(
            shown(f"review {key}", me, "review_criterion", at_work.pk, key)
            for key in ("C1", "C2", "C3", "C4", "C5")
        ),
        shown("rest of a review", me, "review_rest", at_work.pk),
        shown("hand a review back", me, "review_step_down", at_work.pk),
        shown("earlier scores", scored.reviewer, "review_answer", compared.pk),
        shown("review answered", changed.yard.trainee, "review", answered.pk),
        shown("result after a review", changed.yard.trainee, "attempt", changed.attempt.pk),
    ]


def _handed_in(review: Review) -> None:
    photo = ReviewPhoto(review=review, sha256="0" * 64, caption="The arris from below")
    photo.file.save("handed.jpg", ContentFile(jpeg()), save=False)
    photo.save()


def _of_records(record: Record) -> list[Shown]:
    holder = record.holder
    _link, token = make_own_link(
        actor=holder, records=[record], recipient="Port Ellery Works, the foreman's office"
    )
    facts: dict[str, Any] = {"record": record, "day": timezone.localdate()}
    RecordLook.objects.create(**facts, way=RecordLook.Way.CHECK)
    RecordLook.objects.create(
        **facts, way=RecordLook.Way.ACCOUNT, person=record.decision.decided_by
    )
    return [
        shown("my records", holder, "my_records"),
        shown("no records", record.decision.decided_by, "my_records"),
        shown("who has looked", holder, "my_looks"),
        shown("own link", None, "shown", token),
        shown("own link gone", None, "shown", "no-token"),
        shown("record", holder, "record", record.number),
    ]


def _of_complaints(yard: Yard) -> list[Shown]:
    made = make_complaint(
        actor=yard.trainee,
        run=yard.run,
        text="The scaffold tie in bay 3 was taken out.",
        kind=Complaint.Kind.SAFETY,
        concerns=yard.instructor,
    )
    return [
        shown("complain", yard.trainee, "complaint_new", yard.run.pk),
        shown("complaints", yard.trainee, "complaint_list"),
        shown("complaints, lead", yard.lead, "complaint_list"),
        shown("complaint", yard.trainee, "complaint", made.pk),
        shown("complaint, lead", yard.lead, "complaint", made.pk),
        shown("outside contact", yard.lead, "outside_contact", yard.provider.pk),
    ]
