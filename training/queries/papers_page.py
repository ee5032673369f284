"""The papers of one person, each with how it stands today."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

from django.utils.translation import gettext as _

from training.models import DocumentTakenBack, HeldDocument, Person, ProgramPrerequisite
from training.queries.fit import HELD, LAPSED, LATER, TAKEN_BACK, fits_on
from training.queries.papers import (
    INSTRUCTOR,
    INSTRUCTOR_TITLE,
    documents_kept_by,
    documents_visible_to,
)


@dataclass(frozen=True)
class PaperRow:
    """A paper, what it shows in words, how it stands, and whether the reader may take it back."""

    document: HeldDocument
    shows: str
    state: str
    taken_back: DocumentTakenBack | None
    may_take_back: bool


def paper_rows(reader: Person, person: Person, on: date) -> list[PaperRow]:
    """Return the papers of ``person`` that ``reader`` sees, the newest of a kind first.

    Three queries, whatever their number.
    """
    documents = list(
        documents_visible_to(reader)
        .filter(person=person)
        .select_related("provider", "seen_by", "taken_back__by")
        .order_by("kind", "-issued_on", "pk")
    )
    kept = set(documents_kept_by(reader).filter(person=person).values_list("pk", flat=True))
    titles = _titles(documents)
    return [_row(each, titles, each.pk in kept, on) for each in documents]


def _row(
    document: HeldDocument, titles: Mapping[tuple[int, str], str], kept: bool, on: date
) -> PaperRow:
    taken = getattr(document, "taken_back", None)
    shows = titles.get((document.provider_id, document.kind), document.kind)
    if document.kind == INSTRUCTOR:
        shows = _(INSTRUCTOR_TITLE)
    return PaperRow(document, shows, _state(document, taken, on), taken, kept and taken is None)


def _state(document: HeldDocument, taken: DocumentTakenBack | None, on: date) -> str:
    if taken is not None:
        return TAKEN_BACK
    if fits_on(document, on):
        return HELD
    return LATER if document.issued_on > on else LAPSED


def _titles(documents: list[HeldDocument]) -> dict[Any, str]:
    rows = ProgramPrerequisite.objects.filter(
        program__provider__in={each.provider_id for each in documents},
        key__in={each.kind for each in documents},
    ).order_by("program__loaded_at", "position")
    found = rows.values_list("program__provider", "key", "title")
    return {(provider, key): title for provider, key, title in found}
