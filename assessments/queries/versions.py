"""The versions of a program, and what changed between two."""

from django.db.models import Q, QuerySet

from assessments.queries.scope import drafts_visible_to
from training.models import Person, Program


def versions_of(program: Program, person: Person) -> QuerySet[Program]:
    """Return the versions with the code of ``program`` that ``person`` may read, newest first."""
    return (
        drafts_visible_to(person)
        .filter(provider=program.provider_id, code=program.code)
        .prefetch_related("standards")
        .order_by("-version")
    )


def comparable_with(program: Program, person: Person) -> list[Program]:
    """Return the programs of the provider that ``program`` can be compared with.

    First the versions before it, newest first, then the later ones, then other programs.
    """
    others = drafts_visible_to(person).filter(~Q(pk=program.pk), provider=program.provider_id)
    return sorted(
        others,
        key=lambda each: (
            each.code != program.code,
            each.version > program.version,
            each.code,
            -each.version,
        ),
    )
