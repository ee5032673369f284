"""Posts written as the file that reads them back."""

from __future__ import annotations

import csv
import io
from collections.abc import Mapping, Sequence
from typing import Any
from uuid import UUID

from assessments.engine.qualification import Rules
from certificates.actions.projects.values import PostValues
from certificates.postfile.columns import COLUMNS, ENDS, guarded, joined, values_column
from certificates.postfile.rows import columns_of


def posts_csv(posts: Sequence[PostValues], rules: Mapping[UUID, Rules | None]) -> bytes:
    """Return the posts as CSV in UTF-8 with a byte order mark, one row each.

    After the file's own columns come those of every variable of the posts' programs, asked
    about or not, so that the file can be filled in. No cell is taken for a formula.
    """
    rows = [post_cells(post) for post in posts]
    columns = list(COLUMNS)
    for post in posts:
        known = rules.get(post.program.pk)
        columns += columns_of(known) if known else []
    for row in rows:
        columns += list(row)
    columns = list(dict.fromkeys(columns))
    out = io.StringIO(newline="")
    writer = csv.writer(out)
    writer.writerow([guarded(column) for column in columns])
    for row in rows:
        writer.writerow([guarded(row.get(column, "")) for column in columns])
    return out.getvalue().encode("utf-8-sig")


def post_cells(post: PostValues) -> dict[str, str]:
    """Return what is written of a post, by column; a column without anything may be left out."""
    row = {
        "code": post.code,
        "title": post.title,
        "work": post.work,
        "program": post.program.code,
        "version": str(post.program.version),
        "provider": post.program.provider.name,
        "places": str(post.places),
        "first day": post.starts_on.isoformat(),
        "last day": post.ends_on.isoformat(),
        "masons per lead": "" if post.masons_per_lead is None else str(post.masons_per_lead),
    }
    if post.lead_program:
        row |= {
            "lead program": post.lead_program.code,
            "lead version": str(post.lead_program.version),
            "lead provider": post.lead_program.provider.name,
        }
    for key, value in post.conditions.items():
        row |= _condition(key, value)
    return row


def _condition(key: str, value: Any) -> dict[str, str]:
    if isinstance(value, Mapping):
        return {f"{key} {end}": str(value[end]) for end in ENDS if value.get(end) is not None}
    return {values_column(key): joined(value if isinstance(value, list) else [value])}
