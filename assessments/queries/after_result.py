"""What follows a result: each part of "What you can do now" tells what its template needs.

A source is a function of the attempt, its decision (None while the attempt is open), the past of
its enrolment and the person who reads; it returns names for the template of
``templates/assessments/attempt`` that shows them, in a constant number of queries. Parts register
theirs in ``AppConfig.ready()``.
"""

from collections.abc import Callable, Mapping
from typing import Any

from assessments.models import Attempt, Decision
from assessments.queries.past import Past
from training.models import Person

Source = Callable[[Attempt, Decision | None, Past, Person], Mapping[str, Any]]
_sources: list[Source] = []


def after_result(source: Source) -> Source:
    """Register ``source`` once; usable as a decorator."""
    if source not in _sources:
        _sources.append(source)
    return source


def what_follows(
    attempt: Attempt, decision: Decision | None, past: Past, person: Person
) -> dict[str, Any]:
    """Return what every source has to say; ValueError where two say the same name."""
    said: dict[str, Any] = {}
    for source in _sources:
        told = source(attempt, decision, past, person)
        if twice := said.keys() & told.keys():
            raise ValueError(f"{', '.join(sorted(twice))}: said by two sources.")
        said.update(told)
    return said
