"""The rules of range and continuity that standards were sealed with."""

from collections.abc import Iterable
from uuid import UUID

from assessments.engine.qualification import Rules, rules_in
from assessments.models import SealedStandard


def rules_of(standards: Iterable[UUID]) -> dict[UUID, Rules | None]:
    """Return the rules of each sealed standard, None for one that has none (one query).

    Reads three parts of each document and not the whole. A standard that does not exist is
    left out. Raises EngineError where the rules of one cannot be read, which sealing refuses.
    """
    rows = SealedStandard.objects.filter(pk__in=set(standards)).values_list(
        "pk", "document__about__qualification", "document__dimensions", "document__stages"
    )
    return {
        pk: rules_in(
            {"about": {"qualification": found}, "dimensions": dimensions, "stages": stages}
        )
        if found is not None
        else None
        for pk, found, dimensions, stages in rows.order_by()
    }
