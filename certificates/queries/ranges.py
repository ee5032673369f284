"""The rules of range and continuity that standards were sealed with."""

from collections.abc import Callable, Iterable, Mapping
from typing import Any, TypeVar
from uuid import UUID

from assessments.engine.qualification import Rules, rules_in, stated_range
from assessments.models import SealedStandard

Found = TypeVar("Found")


def rules_of(standards: Iterable[UUID]) -> dict[UUID, Rules | None]:
    """Return the rules of each sealed standard, None for one that has none (one query).

    Reads three parts of each document and not the whole. A standard that does not exist is
    left out. Raises EngineError where the rules of one cannot be read, which sealing refuses.
    """
    return _read(standards, rules_in)


def ranges_stated(standards: Iterable[UUID]) -> dict[UUID, dict[str, Any] | None]:
    """Return the same in sentences, as records state it: {basis, rows, continuity, renewal}."""
    return _read(standards, stated_range)


def _read(
    standards: Iterable[UUID], read: Callable[[Mapping[str, Any]], Found | None]
) -> dict[UUID, Found | None]:
    rows = SealedStandard.objects.filter(pk__in=set(standards)).values_list(
        "pk", "document__about__qualification", "document__dimensions", "document__stages"
    )
    return {
        pk: read({"about": {"qualification": found}, "dimensions": dimensions, "stages": stages})
        if found is not None
        else None
        for pk, found, dimensions, stages in rows.order_by()
    }
