"""What waits for an assessor: reference pieces to score, an authority that ends."""

from collections import defaultdict
from collections.abc import Iterable
from datetime import date, timedelta
from uuid import UUID

from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from assessments.models import (
    AssessorRequirement,
    Authorisation,
    CalibrationSitting,
    ReferencePiece,
)
from assessments.queries.calibration.authority import may_sign, requirements_of
from assessments.queries.calibration.own import newest_of_own
from assessments.queries.calibration.scope import programs_assessed_by
from training.dates import day_text, months_later
from training.models import Person, Program, Role
from training.queries.todo import Todo, todo_source

NOTICE = timedelta(days=60)


@todo_source
def calibration_to_do(person: Person, roles: frozenset[str]) -> Iterable[Todo]:
    """Tell an assessor what is asked (one query where no program asks, else five)."""
    if not roles & {Role.Kind.LEAD, Role.Kind.INSTRUCTOR}:
        return
    asked = AssessorRequirement.objects.values("program")
    programs = list(programs_assessed_by(person).filter(pk__in=asked).distinct())
    if not programs:
        return
    requirements = requirements_of(programs)
    newest, days = newest_of_own(person, programs), _finished(person, programs)
    pieces: dict[UUID, set[UUID]] = defaultdict(set)
    in_use = ReferencePiece.objects.filter(standard__program__in=programs, retired_at__isnull=True)
    for key, piece in in_use.values_list("standard__program_id", "pk"):
        pieces[key].add(piece)
    for program in programs:
        asks, word = requirements[program.pk], newest.get(program.pk)
        yield from _ending(program, word)
        yield from _missing(program, asks, pieces[program.pk], days[program.pk])


def _finished(person: Person, programs: list[Program]) -> dict[UUID, dict[UUID, date]]:
    """Return, by program, the day on which each piece was scored last."""
    rows = CalibrationSitting.objects.filter(
        assessor=person,
        finished_at__isnull=False,
        piece__standard__program__in=programs,
    ).order_by("finished_at")
    found: dict[UUID, dict[UUID, date]] = defaultdict(dict)
    for row in rows.select_related("piece__standard").only(
        "finished_at", "piece", "piece__standard__program"
    ):
        if row.finished_at is not None:
            day = timezone.localdate(row.finished_at)
            found[row.piece.standard.program_id][row.piece_id] = day
    return found


def _ending(program: Program, word: Authorisation | None) -> Iterable[Todo]:
    today = timezone.localdate()
    if word is None or not may_sign(word, today) or word.until is None:
        return
    if word.until <= today + NOTICE:
        yield Todo(
            _("Your authority ends on {until}").format(until=day_text(word.until)),
            _("{title}: score reference pieces before, and a training lead renews it.").format(
                title=program.title
            ),
            reverse("calibration"),
            _("See what is asked"),
        )


def _missing(
    program: Program, asks: AssessorRequirement, in_use: set[UUID], days: dict[UUID, date]
) -> Iterable[Todo]:
    today = timezone.localdate()
    counted = {piece for piece, day in days.items() if months_later(day, asks.months) >= today}
    missing = min(asks.pieces - len(counted), len(in_use - counted))
    if missing > 0:
        few = ("", _("One"), _("Two"), _("Three"), _("Four"), _("Five"), _("Six"))
        number = few[missing] if missing < len(few) else str(missing)
        yield Todo(
            ngettext(
                "{number} reference piece to score", "{number} reference pieces to score", missing
            ).format(number=number),
            _("{title}. Who signs off must score as agreed.").format(title=program.title),
            reverse("calibration"),
            _("See what is asked"),
        )
