"""Complaining about a run, and answering."""

from django.core.exceptions import PermissionDenied
from django.db import transaction
from django.utils import timezone
from django.utils.translation import gettext as _

from training.actions.complaint_letters import tell_of_answer, tell_of_complaint
from training.actions.log import write_log
from training.actions.permission import require_lead
from training.errors import Refused
from training.models import Complaint, CourseRun, Person
from training.queries.complaints import may_be_concerned, runs_complained_of_by

LONGEST = 5000


@transaction.atomic
def make_complaint(
    *,
    actor: Person,
    run: CourseRun,
    text: str,
    kind: str = Complaint.Kind.GENERAL,
    concerns: Person | None = None,
) -> Complaint:
    """Save and return an open complaint about ``run``, for the leads of its provider.

    ``concerns`` is whom it is about: that person neither sees, answers nor hears of it. Where no
    other lead is left, the provider's outside contact is written to.

    Raises PermissionDenied for who neither leads, teaches nor has a place on the run; Refused
    without words, for an unknown kind, and for a person who neither leads nor teaches on the run.
    """
    if not runs_complained_of_by(actor).filter(pk=run.pk).exists():
        raise PermissionDenied(_("Only who takes part in a run may complain about it here."))
    if kind not in Complaint.Kind.values:
        raise Refused(_("Choose what the complaint is about."), field="kind")
    if concerns and not may_be_concerned(run, actor).filter(pk=concerns.pk).exists():
        raise Refused(
            _("Choose somebody from the list, or name the person in your own words below."),
            field="concerns",
        )
    complaint = Complaint.objects.create(
        provider=run.program.provider,
        run=run,
        kind=kind,
        concerns=concerns,
        text=_words(text, "text", _("Write what happened, when, and what you ask for.")),
        made_by=actor,
    )
    # Whom it concerns is not in the log: that person may come to read it.
    write_log(
        actor=actor,
        verb="complaint.made",
        subject=complaint,
        data={"run": str(run.pk), "kind": complaint.kind},
    )
    tell_of_complaint(complaint)
    return complaint


@transaction.atomic
def answer_complaint(*, actor: Person, complaint: Complaint, answer: str) -> Complaint:
    """Save the answer, once, and return the complaint; whoever made it is told.

    Raises PermissionDenied for anyone but a lead of the provider, and for whom it concerns;
    Refused without words, by whoever made it, and where it is answered already.
    """
    require_lead(actor, complaint.provider)
    complaint = Complaint.objects.select_for_update(of=("self",)).get(pk=complaint.pk)
    if complaint.concerns_id == actor.pk:
        raise PermissionDenied(_("Another training lead has to answer this."))
    if complaint.made_by_id == actor.pk:
        raise Refused(_("You made this complaint: another training lead has to answer it."))
    if complaint.state == Complaint.State.ANSWERED:
        raise Refused(
            _("This complaint is answered already. Read the answer before you add to it.")
        )
    complaint.answer = _words(answer, "answer", _("Write what was found and what was done."))
    complaint.state = Complaint.State.ANSWERED
    complaint.answered_by = actor
    complaint.answered_at = timezone.now()
    complaint.save(update_fields=["answer", "state", "answered_by", "answered_at"])
    write_log(actor=actor, verb="complaint.answered", subject=complaint)
    tell_of_answer(complaint)
    return complaint


def _words(text: str, field: str, missing: str) -> str:
    text = text.strip()
    if not text:
        raise Refused(missing, field=field)
    if len(text) > LONGEST:
        raise Refused(_("Shorten this to {most} characters.").format(most=LONGEST), field=field)
    return text
