"""Sheets keyed from paper, and for whom a person may key one in."""

from collections.abc import Sequence
from dataclasses import dataclass

from django.db.models import Q, QuerySet

from assessments.models import Attempt, PaperSheet
from assessments.queries.scope import attempts_assessable_by, attempts_visible_to
from assessments.subjects import subjects_of
from training.models import Person, Role
from training.queries.scope import is_lead


@dataclass(frozen=True)
class KeyedSheet:
    """A sheet and the titles of what was keyed in from it, in the order of the work."""

    sheet: PaperSheet
    titles: Sequence[str]


def assessors_keyed_for(person: Person, attempt: Attempt) -> list[Person]:
    """Return for whom ``person`` may key in: oneself first; a lead for the run's instructors."""
    run = attempt.enrolment.run
    if not is_lead(person, run.program.provider):
        return [person]
    others = run.instructors.filter(
        roles__kind=Role.Kind.INSTRUCTOR, roles__organisation=run.program.provider_id
    ).exclude(pk__in=[person.pk, attempt.enrolment.person_id])
    return [person, *others.order_by("full_name", "pk")]


def keyed_sheets(attempt: Attempt) -> list[KeyedSheet]:
    """Return the attempt's sheets (two queries); ``attempt.standard`` must be loaded."""
    sheets = attempt.paper_sheets.select_related("assessor", "keyed_by").prefetch_related(
        "readings__observation"
    )
    subjects = subjects_of(attempt.standard.document)
    found = []
    for sheet in sheets:
        rows = [reading.observation for reading in sheet.readings.all()]
        keyed = {(row.subject_kind, row.subject_key) for row in rows}
        titles = [each.title for each in subjects if (each.kind, each.key) in keyed]
        found.append(KeyedSheet(sheet, titles))
    return found


def sheets_visible_to(person: Person) -> QuerySet[PaperSheet]:
    """Return the sheets of attempts scored by the person, and of the own decided ones."""
    own = attempts_visible_to(person).filter(enrolment__person=person)
    return PaperSheet.objects.filter(
        Q(attempt__in=attempts_assessable_by(person).order_by().values("pk"))
        | Q(attempt__in=own.filter(state=Attempt.State.DECIDED).order_by().values("pk"))
    )
