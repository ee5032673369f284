"""What teaches and what assesses each outcome of a program, and where that leaves a gap."""

from dataclasses import dataclass
from typing import Any, Literal

from django.utils.translation import gettext as _

from assessments.queries.program_document import program_document
from training.models import Program


@dataclass(frozen=True)
class Column:
    """A module or a criterion: one column of the matrix."""

    key: str
    title: str


@dataclass(frozen=True)
class Row:
    """An outcome: for each module, whether it teaches it; for each criterion, its weight there.

    A criterion that does not serve the outcome has the weight None; weights are exact strings.
    """

    key: str
    statement: str
    teaches: tuple[bool, ...]
    weights: tuple[str | None, ...]


@dataclass(frozen=True)
class Gap:
    """Something that leads nowhere; ``sentence`` says what to do."""

    subject: Literal["outcome", "module"]
    key: str
    sentence: str


@dataclass(frozen=True)
class Coverage:
    """The matrix of outcomes against modules and criteria, and its gaps."""

    modules: tuple[Column, ...]
    criteria: tuple[Column, ...]
    rows: tuple[Row, ...]
    gaps: tuple[Gap, ...]


def coverage(program: Program) -> Coverage:
    """Return the coverage of a program's rows; raise Refused if it has no task (eight queries)."""
    return coverage_of(program_document(program))


def coverage_of(document: dict[str, Any]) -> Coverage:
    """Return the coverage of a program document."""
    modules, criteria = document["modules"], document["task"]["criteria"]
    rows = tuple(
        Row(
            key=outcome["key"],
            statement=outcome["statement"],
            teaches=tuple(outcome["key"] in module["teaches"] for module in modules),
            weights=tuple(criterion["serves"].get(outcome["key"]) for criterion in criteria),
        )
        for outcome in document["outcomes"]
    )
    return Coverage(
        modules=tuple(Column(module["key"], module["title"]) for module in modules),
        criteria=tuple(Column(criterion["key"], criterion["title"]) for criterion in criteria),
        rows=rows,
        gaps=(*_outcome_gaps(rows), *_module_gaps(modules)),
    )


def _outcome_gaps(rows: tuple[Row, ...]) -> list[Gap]:
    gaps = []
    for row in rows:
        if not any(row.teaches):
            sentence = _(
                "No module teaches outcome {key}: add {key} to a module's 'teaches', "
                "or leave the outcome out."
            ).format(key=row.key)
            gaps.append(Gap("outcome", row.key, sentence))
        if not any(row.weights):
            sentence = _(
                "No criterion assesses outcome {key}: add {key} to a criterion's "
                "'serves', or leave the outcome out."
            ).format(key=row.key)
            gaps.append(Gap("outcome", row.key, sentence))
    return gaps


def _module_gaps(modules: list[dict[str, Any]]) -> list[Gap]:
    return [
        Gap(
            "module",
            module["key"],
            _(
                "Module {key} teaches no outcome: name one in its 'teaches', "
                "or leave the module out."
            ).format(key=module["key"]),
        )
        for module in modules
        if not module["teaches"]
    ]
