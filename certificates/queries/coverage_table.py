"""Who fills which post from when to when, as a table for a spreadsheet."""

from typing import Any

from certificates.queries.coverage_rows import Stay, stays_of
from certificates.queries.project_coverage import ProjectCoverage

COLUMNS = ["From", "To", "Post", "Title", "Places", "Filled by", "Record", "Counts until"]
NOBODY = "Nobody: empty"


def stays_table(found: ProjectCoverage) -> dict[str, Any]:
    """Return {key, title, columns, rows} of all stays; days as 2027-03-01."""
    how = "confirmations go on" if found.facts.confirming else "as things stand"
    title = (
        f"{found.project.name}: who fills which post from {found.coverage.first.isoformat()}, "
        f"as known on {found.facts.known.isoformat()}, {how}"
    )
    return {
        "key": "coverage",
        "title": title,
        "columns": COLUMNS,
        "rows": [_row(stay, confirming=found.facts.confirming) for stay in stays_of(found)],
    }


def _row(stay: Stay, *, confirming: bool) -> list[str | int]:
    filled = stay.filled
    until = None
    if filled:
        until = filled.held.valid_until if confirming else filled.held.counts_until
    return [
        stay.first.isoformat(),
        stay.last.isoformat(),
        stay.key,
        stay.title,
        stay.places,
        filled.name if filled else NOBODY,
        filled.held.number if filled else "",
        until.isoformat() if until else "",
    ]
