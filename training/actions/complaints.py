"""Complaining about a run, and answering."""

from django.core.exceptions import PermissionDenied
from django.db import transaction
from django.utils import timezone

from training.actions.log import write_log
from training.actions.permission import require_lead
from training.errors import Refused
from training.models import Complaint, CourseRun, Person
from training.queries.complaints import runs_complained_of_by

LONGEST = 5000


@transaction.atomic
def make_complaint(*, actor: Person, run: CourseRun, text: str) -> Complaint:
    """Save and return an open complaint about ``run``, for the leads of its provider.

    Raises PermissionDenied for who neither leads, teaches nor has a place on the run; Refused
    without words.
    """
    if not runs_complained_of_by(actor).filter(pk=run.pk).exists():
        raise PermissionDenied("Only who takes part in a run may complain about it here.")
    complaint = Complaint.objects.create(
        provider=run.program.provider,
        run=run,
        text=_words(text, "text", "Write what happened, when, and what you ask for."),
        made_by=actor,
    )
    write_log(actor=actor, verb="complaint.made", subject=complaint, data={"run": str(run.pk)})
    return complaint


@transaction.atomic
def answer_complaint(*, actor: Person, complaint: Complaint, answer: str) -> Complaint:
    """Save the answer, once, and return the complaint.

    Raises PermissionDenied for anyone but a lead of the provider; Refused without words, by
    whoever made it, and where it is answered already.
    """
    require_lead(actor, complaint.provider)
    complaint = Complaint.objects.select_for_update(of=("self",)).get(pk=complaint.pk)
    if complaint.made_by_id == actor.pk:
        raise Refused("You made this complaint: another training lead has to answer it.")
    if complaint.state == Complaint.State.ANSWERED:
        raise Refused("This complaint is answered already. Read the answer before you add to it.")
    complaint.answer = _words(answer, "answer", "Write what was found and what was done.")
    complaint.state = Complaint.State.ANSWERED
    complaint.answered_by = actor
    complaint.answered_at = timezone.now()
    complaint.save(update_fields=["answer", "state", "answered_by", "answered_at"])
    write_log(actor=actor, verb="complaint.answered", subject=complaint)
    return complaint


def _words(text: str, field: str, missing: str) -> str:
    text = text.strip()
    if not text:
        raise Refused(missing, field=field)
    if len(text) > LONGEST:
        raise Refused(f"Shorten this to {LONGEST} characters.", field=field)
    return text
