"""Scoring a reference piece, without seeing what was agreed until it is finished."""

from collections.abc import Mapping
from typing import Any
from uuid import UUID, uuid4

from django.core.exceptions import PermissionDenied
from django.db import IntegrityError, transaction
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop as N_

from assessments.engine.canonical import digest
from assessments.engine.errors import EngineError
from assessments.engine.judge import CLEARED, judge
from assessments.engine.numbers import number_text, tidy
from assessments.engine.standard import load_standard
from assessments.models import CalibrationScore, CalibrationSitting, ReferencePiece
from assessments.queries.calibration.authority import requirement_of
from assessments.queries.calibration.scope import programs_assessed_by
from assessments.queries.calibration.standing import CURRENT, compared
from training.actions.log import write_log
from training.dates import day_text, months_later
from training.errors import Refused
from training.models import Person

State = CalibrationSitting.State
RETIRED = N_("This reference piece is retired: choose another one.")
FINISHED = N_("This sitting is finished: nothing more is scored.")
MEANWHILE = N_(
    "This was scored meanwhile, in another window or on another device. Reload the page and "
    "correct what stands there."
)


@transaction.atomic
def start_sitting(*, actor: Person, piece: ReferencePiece) -> CalibrationSitting:
    """Begin to score a reference piece and return the sitting; an open one is gone on with.

    Raises PermissionDenied for who does not assess the program; Refused for a retired piece,
    and for one that ``actor`` has scored already: the agreed scores were shown then. Where the
    program asks for pieces within some months, it may be scored again after as many.
    """
    _require_assessor(actor, piece)
    # Two clicks at once: the second waits here, and finds the sitting of the first.
    locked = ReferencePiece.objects.select_for_update(of=("self",)).get(pk=piece.pk)
    is_open = locked.sittings.filter(assessor=actor, state=State.OPEN).first()
    if is_open is not None:
        return is_open
    if locked.retired_at is not None:
        raise Refused(RETIRED)
    _refuse_again(actor, piece)
    sitting = CalibrationSitting.objects.create(piece=locked, assessor=actor)
    write_log(actor=actor, verb="sitting.started", subject=sitting, data={"piece": str(locked.pk)})
    return sitting


@transaction.atomic
def score_reference(
    *,
    actor: Person,
    sitting: CalibrationSitting,
    criterion: str,
    value: Mapping[str, Any],
    score_id: UUID | None = None,
) -> CalibrationScore:
    """Store what ``actor`` finds on one criterion; a later score corrects the earlier.

    ``score_id`` names what a page sent, so that the same sent twice is stored once. Raises
    PermissionDenied for anyone but the sitting's assessor; Refused, at ``value``, for what the
    criterion cannot have or nothing at all, and for a finished sitting.
    """
    locked = _own(actor, sitting)
    found = _checked(locked.piece, criterion, value)
    scores = locked.scores.filter(criterion=criterion)
    sent = scores.filter(pk=score_id).first() if score_id else None
    if sent is not None:
        return sent
    current = scores.filter(replaced_by__isnull=True).first()
    if current is not None and current.value == found:
        return current
    try:
        with transaction.atomic():
            score = CalibrationScore.objects.create(
                id=score_id or uuid4(),
                sitting=locked,
                criterion=criterion,
                value=found,
                replaces=current,
            )
    except IntegrityError as error:
        raise Refused(MEANWHILE) from error
    write_log(
        actor=actor,
        verb="sitting.corrected" if current else "sitting.scored",
        subject=score,
        data={"sitting": str(locked.pk), "criterion": criterion, "value_digest": digest(found)},
    )
    return score


@transaction.atomic
def finish_sitting(*, actor: Person, sitting: CalibrationSitting) -> CalibrationSitting:
    """End a sitting on which every criterion is scored; the agreed scores are shown from now on.

    Raises PermissionDenied for anyone but the sitting's assessor; Refused, naming what is
    missing, while a criterion of the piece is not scored whole, and when it is finished.
    """
    locked = _own(actor, sitting)
    left = _left(locked)
    if left:
        raise Refused(
            _("Not everything is scored yet. Still to score: {left}.").format(left=", ".join(left))
        )
    locked.state, locked.finished_at = State.FINISHED, timezone.now()
    locked.save(update_fields=["state", "finished_at"])
    parts = ("piece__standard", CURRENT)
    figures = compared(CalibrationSitting.objects.prefetch_related(*parts).get(pk=locked.pk)).tally
    write_log(
        actor=actor,
        verb="sitting.finished",
        subject=locked,
        data={
            "piece": str(locked.piece_id),
            "criteria": figures.criteria,
            "same": figures.same,
            "bias": None if figures.bias is None else number_text(tidy(figures.bias)),
        },
    )
    return locked


def _require_assessor(actor: Person, piece: ReferencePiece) -> None:
    programs = programs_assessed_by(actor).order_by()
    if not programs.filter(pk=piece.standard.program_id).exists():
        raise PermissionDenied(_("Only who leads or teaches the program scores its pieces."))


def _refuse_again(actor: Person, piece: ReferencePiece) -> None:
    last = piece.sittings.filter(assessor=actor, state=State.FINISHED).first()
    if last is None or last.finished_at is None:
        return
    day = timezone.localdate(last.finished_at)
    seen = _("You scored this piece on {day} and saw the agreed scores.").format(day=day_text(day))
    requirement = requirement_of(piece.standard.program_id)
    if requirement is None:
        raise Refused(_("{seen} Choose another one.").format(seen=seen))
    again = months_later(day, requirement.months)
    if timezone.localdate() <= again:
        raise Refused(
            _("{seen} It can be scored again after {again}: choose another one.").format(
                seen=seen, again=day_text(again)
            )
        )


def _own(actor: Person, sitting: CalibrationSitting) -> CalibrationSitting:
    """Return the sitting, locked and open, with its piece; it must be the actor's own."""
    rows = CalibrationSitting.objects.select_for_update(of=("self",))
    locked = rows.select_related("piece__standard").get(pk=sitting.pk)
    if locked.assessor_id != actor.pk:
        raise PermissionDenied(_("Only the assessor who began this sitting scores in it."))
    _require_assessor(actor, locked.piece)
    if locked.state != State.OPEN:
        raise Refused(FINISHED)
    return locked


def _checked(piece: ReferencePiece, criterion: str, value: Mapping[str, Any]) -> dict[str, Any]:
    standard = load_standard(piece.standard.document)
    if criterion not in piece.agreed:
        raise Refused(_("This criterion is not scored on this piece."), field="value")
    if CLEARED in value:
        raise Refused(_("Score what you see: a correction takes the place of it."), field="value")
    try:
        judge(standard.criterion(criterion), value)
    except EngineError as error:
        raise Refused(str(error), field="value") from error
    return dict(value)


def _left(sitting: CalibrationSitting) -> list[str]:
    """Return the titles of what is not scored, or not whole, in the order of the standard."""
    standard = load_standard(sitting.piece.standard.document)
    current = sitting.scores.filter(replaced_by__isnull=True)
    given = dict(current.values_list("criterion", "value"))
    return [
        criterion.title
        for criterion in standard.criteria
        if criterion.key in sitting.piece.agreed
        and (
            criterion.key not in given or judge(criterion, given[criterion.key]).result == "missing"
        )
    ]
