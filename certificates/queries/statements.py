"""What a contractor's manager signs, in full, as it is shown before."""

from collections.abc import Iterable
from datetime import date

from assessments.engine.qualification import Rules, range_of
from training.digests import digest


def sentence(
    *,
    organisation: str,
    holders: Iterable[tuple[str, str, str]],
    worked_on: date,
    project_name: str,
    work: str,
) -> list[str]:
    """Return one statement for each of ``holders``: (name, number of the record, program)."""
    doing = f" The work: {work}" if work else ""
    if doing and not doing.endswith((".", "!", "?")):
        doing += "."
    return [
        f"I confirm for {organisation} that {holder} did work within the range of record "
        f"{number} ({program}) on {worked_on.day} {worked_on:%B %Y} at {project_name}.{doing}"
        for holder, number, program in holders
    ]


def seal_of(statements: Iterable[str]) -> str:
    """Return what tells whether these very statements were shown before they were signed."""
    return digest({"statements": list(statements)})


def range_rows(rules: Rules | None) -> list[dict[str, str]]:
    """Return what the record covers, row by row; empty without rules."""
    return range_of(rules).rows() if rules else []
