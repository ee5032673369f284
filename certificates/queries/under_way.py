"""What of a crew's training is under way: standards met without a record yet, and enrolments."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence

from assessments.queries.attempts import met_decisions
from certificates.queries.lacks import Met
from training.models import Enrolment


def met_of(people: Iterable[int]) -> Mapping[int, Sequence[Met]]:
    """Who met which passing standard and waits for the record (one query)."""
    waiting = met_decisions().filter(
        records__isnull=True, attempt__enrolment__person__in=list(people)
    )
    rows = waiting.values_list(
        "attempt__enrolment__person",
        "attempt__enrolment__run__program__provider",
        "attempt__enrolment__run__program__code",
        "attempt__enrolment__run__program__version",
        "attempt__standard",
    )
    found: dict[int, list[Met]] = defaultdict(list)
    for person, provider, code, version, standard in rows.order_by():
        found[person].append(Met(provider, code, version, standard))
    return found


def enrolled_of(people: Iterable[int]) -> Mapping[int, Sequence[tuple[int, str, int]]]:
    """On which programs people are enrolled: provider, code, version (one query)."""
    rows = Enrolment.objects.filter(
        person__in=list(people), state=Enrolment.State.ENROLLED
    ).exclude(run__state="closed")
    found: dict[int, list[tuple[int, str, int]]] = defaultdict(list)
    for person, provider, code, version in rows.order_by().values_list(
        "person", "run__program__provider", "run__program__code", "run__program__version"
    ):
        found[person].append((provider, code, version))
    return found
