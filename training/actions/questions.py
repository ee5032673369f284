"""Questions asked while a run is taught, and their answers."""

from django.core.exceptions import PermissionDenied
from django.db import transaction
from django.utils import timezone
from django.utils.translation import gettext as _

from training.actions.attendance import require_noting
from training.actions.log import write_log
from training.errors import Refused
from training.models import CourseRun, Enrolment, Person, Question, Session
from training.queries.scope import runs_visible_to

LONGEST = 2000


@transaction.atomic
def ask_question(
    *,
    actor: Person,
    run: CourseRun,
    text: str,
    session: Session | None = None,
    asked_by: Person | None = None,
) -> Question:
    """Keep a question about ``run`` and return it.

    A trainee asks for themselves; a lead or an instructor writes down one asked aloud:
    ``asked_by`` is then who asked, or None where nobody knows. Raises PermissionDenied for
    anybody without a place on the run; Refused for no or too much text, a session of another
    run, and somebody who has no place on it.
    """
    teaches = runs_visible_to(actor).filter(pk=run.pk).exists()
    if not teaches:
        if not _enrolled(run, actor):
            raise PermissionDenied(_("Only those of the run ask questions on it."))
        asked_by = actor
    text = _clean(text, "text", _("Write the question."))
    if session is not None and session.run_id != run.pk:
        raise Refused(_("Choose a session of this run."), field="session")
    if teaches and asked_by is not None and not _enrolled(run, asked_by):
        raise Refused(
            _("{asked_by} is not enrolled on this run.").format(asked_by=asked_by), field="asked_by"
        )
    question = Question.objects.create(
        run=run, session=session, asked_by=asked_by, text=text, written_by=actor
    )
    write_log(
        actor=actor,
        verb="question.asked",
        subject=question,
        data={"run": str(run.pk), "asked_by": asked_by.pk if asked_by else None},
    )
    return question


@transaction.atomic
def answer_question(*, actor: Person, question: Question, answer: str) -> Question:
    """Answer a question, once, and return it.

    Raises PermissionDenied for anybody but a lead or an instructor of the run; Refused for no or
    too much text, and where somebody answered meanwhile.
    """
    require_noting(actor, question.run)
    locked = Question.objects.select_for_update(of=("self",)).get(pk=question.pk)
    answer = _clean(answer, "answer", _("Write the answer."))
    if locked.answered_at is not None:
        raise Refused(
            _("Somebody answered this meanwhile. Read the answer on the run's questions.")
        )
    locked.answer, locked.answered_by, locked.answered_at = answer, actor, timezone.now()
    locked.save(update_fields=["answer", "answered_by", "answered_at"])
    write_log(actor=actor, verb="question.answered", subject=locked)
    return locked


def _enrolled(run: CourseRun, person: Person) -> bool:
    return run.enrolments.filter(person=person, state=Enrolment.State.ENROLLED).exists()


def _clean(text: str, field: str, missing: str) -> str:
    text = text.strip()
    if not text:
        raise Refused(missing, field=field)
    if len(text) > LONGEST or "\0" in text:
        raise Refused(
            _("Keep it to {longest} characters of text.").format(longest=LONGEST), field=field
        )
    return text
