"""Pieces made for practice, and what is seen on them; no decision rests on any of it."""

from collections.abc import Mapping
from datetime import date
from typing import Any
from uuid import UUID, uuid4
from zoneinfo import ZoneInfo

from django.core.exceptions import PermissionDenied
from django.db import IntegrityError, transaction
from django.utils import timezone
from django.utils.translation import gettext as _

from assessments.actions.events import LONGEST_NOTE
from assessments.engine.canonical import digest
from assessments.engine.errors import EngineError
from assessments.engine.standard import load_standard
from assessments.models import PracticePiece, PracticeScore, SealedStandard
from assessments.queries.scope import may_assess
from assessments.subjects import CRITERION, check_value
from training.actions.log import write_log
from training.errors import Refused
from training.models import Enrolment, Person, Session

LONGEST_TITLE = 200


@transaction.atomic
def record_piece(
    *,
    actor: Person,
    enrolment: Enrolment,
    title: str,
    made_on: date,
    session: Session | None = None,
) -> PracticePiece:
    """Keep a piece that a trainee made for practice and return it.

    It is scored by the standard sealed last. Raises PermissionDenied for anybody but a lead or an
    instructor of the run, and for the own piece; Refused where no standard is sealed or nobody
    is enrolled, and, at the field, for a title, a day or a session that will not do.
    """
    _require_teacher(actor, enrolment)
    if enrolment.state != Enrolment.State.ENROLLED:
        raise Refused(
            _("{person} is not enrolled on this run.").format(person=enrolment.person.full_name)
        )
    standard = (
        SealedStandard.objects.filter(program=enrolment.run.program_id).order_by("-serial").first()
    )
    if standard is None:
        raise Refused(
            _(
                "No passing standard is sealed: a training lead seals it first, then pieces can be "
                "scored by it."
            )
        )
    title = title.strip()
    if not title or len(title) > LONGEST_TITLE or "\0" in title:
        raise Refused(
            _("Write what was made, in {most} characters at most.").format(most=LONGEST_TITLE),
            field="title",
        )
    _check_day(enrolment, made_on, session)
    piece = PracticePiece.objects.create(
        enrolment=enrolment,
        standard=standard,
        session=session,
        title=title,
        made_on=made_on,
        recorded_by=actor,
    )
    write_log(
        actor=actor,
        verb="practice_piece.recorded",
        subject=piece,
        data={"enrolment": str(enrolment.pk), "standard_digest": standard.digest},
    )
    return piece


@transaction.atomic
def score_piece(
    *,
    actor: Person,
    piece: PracticePiece,
    criterion: str,
    value: Mapping[str, Any],
    note: str = "",
    score_id: UUID | None = None,
    replaces: UUID | None = None,
) -> PracticeScore:
    """Keep what ``actor`` sees on one criterion of a practice piece and return it.

    ``value`` is an observation's (engine/FORMATS.md); a later score corrects the earlier one,
    which ``replaces`` names. ``score_id`` names what a page sent: the same sent twice is stored
    once. Raises PermissionDenied as ``record_piece``; Refused at ``value`` for what the criterion
    cannot have, at ``note`` for too long a note, and where it was scored meanwhile.
    """
    # The lock makes two scores queue, so that the second one sees the first.
    locked = (
        PracticePiece.objects.select_for_update(of=("self",))
        .select_related("standard", "enrolment__run")
        .get(pk=piece.pk)
    )
    _require_teacher(actor, locked.enrolment)
    try:
        check_value(
            load_standard(locked.standard.document), CRITERION, criterion, found := dict(value)
        )
        content = digest(found)
    except EngineError as error:
        raise Refused(str(error), field="value") from error
    if len(note) > LONGEST_NOTE or "\0" in note:
        raise Refused(
            _("Keep the note to {most} characters of text.").format(most=LONGEST_NOTE),
            field="note",
        )
    scores = locked.scores.filter(criterion=criterion)
    sent = scores.filter(pk=score_id).first() if score_id else None
    if sent is not None and sent.value == found and sent.note == note:
        return sent
    current = scores.filter(replaced_by__isnull=True).first()
    if (current and current.pk) != replaces:
        raise Refused(_scored_meanwhile())
    try:
        with transaction.atomic():
            score = PracticeScore.objects.create(
                id=score_id or uuid4(),
                piece=locked,
                criterion=criterion,
                value=found,
                note=note,
                by=actor,
                replaces=current,
            )
    except IntegrityError as error:
        raise Refused(_scored_meanwhile()) from error
    write_log(
        actor=actor,
        verb="practice_piece.corrected" if current else "practice_piece.scored",
        subject=score,
        data={"piece": str(locked.pk), "criterion": criterion, "value_digest": content},
    )
    return score


def _scored_meanwhile() -> str:
    return _(
        "This was scored meanwhile, in another window or by somebody else. Reload the page and "
        "correct what stands there."
    )


def _require_teacher(actor: Person, enrolment: Enrolment) -> None:
    if enrolment.person_id == actor.pk or not may_assess(actor, enrolment.run):
        raise PermissionDenied("Only a lead or an instructor of the run scores practice pieces.")


def _check_day(enrolment: Enrolment, made_on: date, session: Session | None) -> None:
    zone = ZoneInfo(enrolment.run.site.time_zone)
    if made_on > timezone.localdate(timezone=zone):
        raise Refused(_("This day is still to come: choose the day it was made."), field="made_on")
    if made_on < enrolment.run.starts_on:
        raise Refused(_("The run had not begun on this day: choose a later one."), field="made_on")
    if session is None:
        return
    if session.run_id != enrolment.run_id:
        raise Refused(_("Choose a session of this run."), field="session")
    if timezone.localdate(session.starts_at, zone) != made_on:
        raise Refused(
            _("The session was on another day: choose its day, or another session."),
            field="made_on",
        )
